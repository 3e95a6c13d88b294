"""Paint without a display."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager

from PySide6.QtCore import QCoreApplication
from PySide6.QtGui import QGuiApplication


@contextmanager
def use_offscreen() -> Iterator[None]:
    """Have a Qt application to paint with, on Qt's offscreen platform, unless one runs already."""
    if QCoreApplication.instance() is not None:
        yield
        return
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    application = QGuiApplication(["handframe"])
    try:
        yield
    finally:
        application.shutdown()
