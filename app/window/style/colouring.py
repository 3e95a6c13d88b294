"""The colours that the user wants: of the window, and of the paper on the screen; kept from one start to the next."""

from __future__ import annotations

import enum
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from PySide6.QtCore import QObject, QSettings, QStandardPaths, Qt
from PySide6.QtGui import QColor, QGuiApplication
from PySide6.QtWidgets import QApplication

from app.window.style import look
from app.window.style.shades import DARK, HIGH_CONTRAST, LIGHT, Shades

_WINDOW, _PAPER = "colours/window", "colours/paper"


class WindowColours(enum.Enum):
    """The colours of the window, by what they are called in the settings."""

    DESKTOP = "desktop"
    LIGHT = "light"
    DARK = "dark"
    HIGH_CONTRAST = "high-contrast"


class Paper(enum.Enum):
    """The paper on the screen; what is printed or written to a file has none."""

    WHITE = "white"
    CREAM = "cream"


@dataclass(frozen=True, slots=True)
class Colours:
    """Both."""

    window: WindowColours = WindowColours.DESKTOP
    paper: Paper = Paper.WHITE


_SHADES: Mapping[WindowColours, Shades] = MappingProxyType(
    {
        WindowColours.LIGHT: LIGHT,
        WindowColours.DARK: DARK,
        WindowColours.HIGH_CONTRAST: HIGH_CONTRAST,
    }
)
_PAPERS: Mapping[Paper, QColor] = MappingProxyType({Paper.WHITE: look.PAPER, Paper.CREAM: look.CREAM})
_SCHEMES: Mapping[WindowColours, Qt.ColorScheme] = MappingProxyType(
    {
        WindowColours.DESKTOP: Qt.ColorScheme.Unknown,
        WindowColours.LIGHT: Qt.ColorScheme.Light,
        WindowColours.DARK: Qt.ColorScheme.Dark,
        WindowColours.HIGH_CONTRAST: Qt.ColorScheme.Dark,
    }
)


def own_settings() -> QSettings | None:
    """This user's settings, ``None`` where users have no folder for them."""
    folder = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppConfigLocation)
    return QSettings(str(Path(folder) / "handframe.ini"), QSettings.Format.IniFormat) if folder else None


def desktop_shades(scheme: Qt.ColorScheme, contrast: Qt.ContrastPreference) -> Shades:
    """What goes with a desktop; the light one where it does not say."""
    if contrast is Qt.ContrastPreference.HighContrast:
        return HIGH_CONTRAST
    return DARK if scheme is Qt.ColorScheme.Dark else LIGHT


class Colouring(QObject):
    """Shows colours, and keeps those that are agreed to in ``settings``; in memory only without them."""

    def __init__(self, settings: QSettings | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._settings = settings
        self.kept = _read(settings)
        self.shown = self.kept
        self._hints = QGuiApplication.styleHints()
        self._access = self._hints.accessibility()
        self._hints.colorSchemeChanged.connect(self._follow)
        self._access.contrastPreferenceChanged.connect(self._follow)

    @property
    def shades(self) -> Shades:
        """The colours of the window that are shown now."""
        chosen = _SHADES.get(self.shown.window)
        return chosen or desktop_shades(self._hints.colorScheme(), self._access.contrastPreference())

    def show(self, colours: Colours) -> None:
        """Show these at once, until others are shown or the program ends."""
        self.shown = colours
        # What the desktop draws itself, such as the bar with the title, goes along.
        self._hints.setColorScheme(_SCHEMES[colours.window])
        self._dress()

    def keep(self) -> None:
        """Show at the next start what is shown now."""
        self.kept = self.shown
        if self._settings is not None:
            self._settings.setValue(_WINDOW, self.kept.window.value)
            self._settings.setValue(_PAPER, self.kept.paper.value)
            self._settings.sync()

    def _follow(self) -> None:
        if self.shown.window is WindowColours.DESKTOP:
            self._dress()

    def _dress(self) -> None:
        application = QApplication.instance()
        if isinstance(application, QApplication):
            look.dress(application, self.shades, _PAPERS[self.shown.paper])


def _read(settings: QSettings | None) -> Colours:
    """What the settings say; what they do not say, or nobody knows, is as usual."""
    if settings is None:
        return Colours()
    window, paper = str(settings.value(_WINDOW, "")), str(settings.value(_PAPER, ""))
    return Colours(
        next((one for one in WindowColours if one.value == window), WindowColours.DESKTOP),
        next((one for one in Paper if one.value == paper), Paper.WHITE),
    )
