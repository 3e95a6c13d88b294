"""All threads of the window share one heap, so that what one frees another uses again."""

from __future__ import annotations

import subprocess
import sys

# malloc_info(3) of the GNU C library writes one <heap> element for each heap in use (Linux man-pages).
COUNT_HEAPS = """
import ctypes, sys, threading
from app.window.background.heap import share_one_heap
share_one_heap()
library = ctypes.CDLL(None)
library.malloc.restype = library.fopen.restype = ctypes.c_void_p
threads = [threading.Thread(target=lambda: library.malloc(5000)) for _ in range(4)]
[thread.start() for thread in threads]
[thread.join() for thread in threads]
told = ctypes.c_void_p(library.fopen(sys.argv[1].encode(), b"w"))
library.malloc_info(0, told)
library.fclose(told)
"""


def heaps(tmp_path, program):
    told = tmp_path / "told.xml"
    subprocess.run([sys.executable, "-c", program, str(told)], check=True)
    return told.read_text().count("<heap nr=")


def test_all_threads_share_one_heap(tmp_path):
    assert heaps(tmp_path, COUNT_HEAPS) == 1
    assert heaps(tmp_path, COUNT_HEAPS.replace("\nshare_one_heap()", "")) > 1
