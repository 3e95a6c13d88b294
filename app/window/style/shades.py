"""The colours of the window: a light set, a dark one, one of high contrast. The paper has its own, in ``look``.

The ratios are those of WCAG 2.2: letters stand out from their ground by 4.5 to 1, in high contrast by 7 to 1 (success
criteria 1.4.3 and 1.4.6); lines round fields and buttons, the focus and what is selected by 3 to 1 (1.4.11).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from PySide6.QtGui import QColor, QPalette

_Role = QPalette.ColorRole


@dataclass(frozen=True, slots=True)
class Shades:
    """Colours as ``#rrggbb``.

    ``quiet``, ``caution``: inks of what is said in passing, and of what is wrong or asks for care. ``own``: the ink of
    the teacher's marks. ``line``: round what can be used; ``hairline``: between what lies beside each other. ``desk``:
    under the pages. ``chosen``: what is selected or has the focus, with ``on_chosen`` written on it.
    """

    ground: str
    field: str
    button: str
    ink: str
    quiet: str
    caution: str
    own: str
    line: str
    hairline: str
    desk: str
    disabled: str
    chosen: str
    on_chosen: str
    link: str


LIGHT = Shades(
    ground="#f4f2ed",
    field="#fffefb",
    button="#e9e5dc",
    ink="#22262a",
    quiet="#5d6266",
    caution="#7d5a10",
    own="#7a2e1d",
    line="#7f7b73",
    hairline="#d3cec3",
    desk="#d9d5cc",
    disabled="#7f7c75",
    chosen="#1f6f78",
    on_chosen="#ffffff",
    link="#1f6f78",
)
DARK = Shades(
    ground="#26292b",
    field="#1c1f21",
    button="#35393c",
    ink="#e6e3dc",
    quiet="#aeb2b4",
    caution="#e3b44f",
    own="#eda48a",
    line="#8f9498",
    hairline="#43474a",
    desk="#141617",
    disabled="#868b8e",
    chosen="#7cc3cb",
    on_chosen="#101719",
    link="#7cc3cb",
)
HIGH_CONTRAST = Shades(
    ground="#000000",
    field="#000000",
    button="#1c1c1c",
    ink="#ffffff",
    quiet="#e4e4e4",
    caution="#ffd75f",
    own="#ffc0a6",
    line="#ffffff",
    hairline="#a8a8a8",
    desk="#000000",
    disabled="#a8a8a8",
    chosen="#ffe45c",
    on_chosen="#000000",
    link="#8fdcff",
)

# Where widgets find each colour. Qt has no role for a second and third ink: two that it leaves to applications, of text
# that stands out and of a link that has been used, serve for them.
ROLES: Mapping[str, tuple[QPalette.ColorRole, ...]] = MappingProxyType(
    {
        "ground": (_Role.Window, _Role.AlternateBase),
        "field": (_Role.Base, _Role.ToolTipBase),
        "button": (_Role.Button,),
        "ink": (_Role.WindowText, _Role.Text, _Role.ButtonText, _Role.ToolTipText),
        "quiet": (_Role.PlaceholderText,),
        "caution": (_Role.BrightText,),
        "own": (_Role.LinkVisited,),
        "line": (_Role.Mid,),
        "hairline": (_Role.Midlight,),
        "desk": (_Role.Dark,),
        "chosen": (_Role.Highlight, _Role.Accent),
        "on_chosen": (_Role.HighlightedText,),
        "link": (_Role.Link,),
    }
)
_DIMMED = (_Role.WindowText, _Role.Text, _Role.ButtonText, _Role.PlaceholderText, _Role.BrightText)


def palette_of(shades: Shades) -> QPalette:
    """The palette with these colours; what cannot be used now is written in ``disabled``."""
    palette = QPalette(QColor(shades.button), QColor(shades.ground))
    for name, roles in ROLES.items():
        for role in roles:
            palette.setColor(role, QColor(getattr(shades, name)))
    for role in _DIMMED:
        palette.setColor(QPalette.ColorGroup.Disabled, role, QColor(shades.disabled))
    return palette
