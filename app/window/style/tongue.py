"""The language of the window: that of the desktop where nothing else is said, for Qt's own words and for dates too."""

from __future__ import annotations

import os
from datetime import date

from PySide6.QtCore import QDate, QLibraryInfo, QLocale, QTranslator
from PySide6.QtWidgets import QApplication

from analysis.language import catalogue, p_

# What the GNU gettext manual, "Locale Environment Variables", lets decide on the language of sentences.
_DECIDING = ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG")


def follow_desktop() -> None:
    """Speak the languages that the desktop is set to, where no variable says which: so it is on Windows and macOS."""
    if not any(os.environ.get(name) for name in _DECIDING):
        asked = (name.replace("-", "_") for name in QLocale.system().uiLanguages())
        os.environ["LANGUAGE"] = ":".join(asked)
        catalogue.cache_clear()


def spoken() -> QLocale:
    """The locale of the language in which everything is said; Qt's plain one where that is English."""
    name = catalogue().info().get("language", "")
    return QLocale(name) if name else QLocale.c()


def number_words(number: float) -> str:
    """A number without decimals, in groups of three as the language has them: ``7,206``."""
    locale = QLocale(spoken())
    locale.setNumberOptions(QLocale.NumberOption.DefaultNumberOptions)
    return locale.toString(round(number))


def install_qt_language(application: QApplication) -> bool:
    """Have Qt say its own words, as on buttons and menus of fields, in the same language; whether it has them."""
    if spoken() == QLocale.c():
        return False
    translator = QTranslator(application)
    folder = QLibraryInfo.path(QLibraryInfo.LibraryPath.TranslationsPath)
    return translator.load(spoken(), "qtbase", "_", folder) and application.installTranslator(translator)


def date_words(day: date, *, year: bool = True) -> str:
    """A date in words: ``3 May 2025``, or ``3 May`` without its year."""
    full, short = p_("date, in the letters of Qt", "d MMMM yyyy"), p_("date, in the letters of Qt", "d MMMM")
    return spoken().toString(QDate(day.year, day.month, day.day), full if year else short)
