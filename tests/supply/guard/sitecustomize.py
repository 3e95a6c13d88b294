"""Loaded by every Python process that finds this folder on PYTHONPATH: writes down each use of the network.

``NETWORK_LOG`` names the file. A process writes ``started PID`` first. Python's own use of the network comes in through
audit events (Python documentation, "Audit events table"). On Linux a system call filter, which threads and child
processes inherit, refuses internet sockets to compiled code too, and what asked for one is written down with its Python
frames (Linux manual: seccomp(2), prctl(2), socket(2)).
"""

from __future__ import annotations

import ctypes
import faulthandler
import os
import platform
import signal
import socket
import struct
import sys

_ASKING = (
    "socket.connect",
    "socket.sendto",
    "socket.sendmsg",
    "socket.getaddrinfo",
    "socket.gethostby",
    "urllib.",
    "http.",
)
_INTERNET = (2, 10)  # AF_INET and AF_INET6 of Linux, as the kernel counts
_SOCKET_CALL = {"x86_64": (0xC000003E, 41), "aarch64": (0xC00000B7, 198)}  # AUDIT_ARCH_*, __NR_socket
_NO_NEW_PRIVILEGES, _SET_FILTER, _FILTER_MODE = 38, 22, 2
_LOAD, _IF_EQUAL, _RETURN = 0x20, 0x15, 0x06  # BPF_LD|W|ABS, BPF_JMP|JEQ|K, BPF_RET|K
_ALLOW, _TRAP = 0x7FFF0000, 0x00030000


class _Program(ctypes.Structure):
    _fields_ = (("length", ctypes.c_ushort), ("filter", ctypes.c_void_p))


def _watch(log: int) -> None:
    """Write down what Python asks the network for."""

    def hook(event: str, arguments: tuple[object, ...]) -> None:
        if event.startswith(_ASKING) and not _stays_here(arguments):
            os.write(log, f"asked {event}\n".encode())

    sys.addaudithook(hook)


def _stays_here(arguments: tuple[object, ...]) -> bool:
    """Whether a socket of the machine's own family is meant: processes speak to each other through it."""
    asked = arguments[0] if arguments else None
    return isinstance(asked, socket.socket) and asked.family not in (socket.AF_INET, socket.AF_INET6)


def _refuse(log: int) -> None:
    """Have the kernel refuse internet sockets to this process and all it starts."""
    known = _SOCKET_CALL.get(platform.machine())
    if not sys.platform.startswith("linux") or known is None:
        return
    machine, call = known
    steps = [
        (_LOAD, 0, 0, 4),
        (_IF_EQUAL, 0, 5, machine),
        (_LOAD, 0, 0, 0),
        (_IF_EQUAL, 0, 3, call),
        (_LOAD, 0, 0, 16),
        (_IF_EQUAL, 2, 0, _INTERNET[0]),
        (_IF_EQUAL, 1, 0, _INTERNET[1]),
        (_RETURN, 0, 0, _ALLOW),
        (_RETURN, 0, 0, _TRAP),
    ]
    code = ctypes.create_string_buffer(b"".join(struct.pack("HBBI", *step) for step in steps))
    program = _Program(len(steps), ctypes.addressof(code))
    faulthandler.register(signal.SIGSYS, file=log, all_threads=False, chain=False)
    libc = ctypes.CDLL(None, use_errno=True)
    for words in (
        (_NO_NEW_PRIVILEGES, 1, 0, 0, 0),
        (_SET_FILTER, _FILTER_MODE, ctypes.byref(program), 0, 0),
    ):
        if libc.prctl(*words) != 0:
            raise OSError(ctypes.get_errno(), "the kernel takes no system call filter")


# At import urllib3 makes a socket to see whether this machine has IPv6, and speaks to nobody: it need not look.
socket.has_ipv6 = False
_log = os.open(os.environ["NETWORK_LOG"], os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
os.write(_log, f"started {os.getpid()}\n".encode())
_refuse(_log)
_watch(_log)
