"""Paint without a display."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager

from PySide6.QtCore import QCoreApplication, QHashSeed
from PySide6.QtGui import QGuiApplication


@contextmanager
def use_offscreen() -> Iterator[None]:
    """Have a Qt application to paint with, on Qt's offscreen platform, unless one runs already.

    Qt's tables are in the same order in every run, and so are the fonts in a PDF.
    """
    if QCoreApplication.instance() is not None:
        yield
        return
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    QHashSeed.setDeterministicGlobalSeed()
    application = QGuiApplication(["handframe"])
    try:
        yield
    finally:
        application.shutdown()
