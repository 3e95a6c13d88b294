"""The fonts of the engraved page, made known to Qt from the files the engraving library brings along."""

from __future__ import annotations

import base64
import re

from PySide6.QtCore import QByteArray, QCoreApplication
from PySide6.QtGui import QFont, QFontDatabase, QGuiApplication

from analysis.language import _
from engraving.errors import EngravingError
from engraving.metrics import MUSIC_FAMILY, TEXT_FAMILY, data_folder

_FILES = ("Liberation.css", "Leipzig.css")
_EMBEDDED = re.compile(r"base64,([^)]*)\)")


def load_fonts() -> None:
    """Load the text and the music font, once an application.

    EngravingError when no Qt application runs yet or a font does not load.
    """
    if not isinstance(QCoreApplication.instance(), QGuiApplication):
        raise EngravingError(_("pages can only be painted while a Qt GUI application object exists"))
    if {TEXT_FAMILY, MUSIC_FAMILY} <= set(QFontDatabase.families()):
        return
    for name in _FILES:
        for font in _EMBEDDED.findall((data_folder() / name).read_text(encoding="utf-8")):
            if QFontDatabase.addApplicationFontFromData(QByteArray(base64.b64decode(font))) < 0:
                raise EngravingError(_("Qt cannot load the page font in {name}").format(name=name))


def text_font(em: float, *, bold: bool = False, italic: bool = False) -> QFont:
    """The text face, ``em`` units of the painter high; it lacks ♯, ♭ and ♮, which come from the music font."""
    font = QFont([TEXT_FAMILY, MUSIC_FAMILY])
    font.setPixelSize(round(em))
    font.setBold(bold)
    font.setItalic(italic)
    return font
