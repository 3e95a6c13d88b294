"""The keys that act where the keyboard is, beside the commands of the menus: views and manual read the same table."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QKeyCombination, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence

from analysis.language import later

MUSIC = later("In the music")
FINGERBOARD = later("On the fingerboard")
FILES = later("Among the files opened last")
PAPER = later("In a look at paper")
RULES = later("In the house rules")
MANUAL = later("In the manual")


@dataclass(frozen=True, slots=True)
class Keys:
    """What some keys do at one place: ``name`` says it to the program, ``text`` to the user.

    ``keys`` as Qt writes them on every platform, in the order in which ``text`` tells what they do.
    """

    place: str
    name: str
    text: str
    keys: tuple[str, ...]


KEYS = (
    Keys(MUSIC, "note", later("The note before, the note after"), ("Left", "Right")),
    Keys(MUSIC, "finger", later("That finger for the selected note, 0 for the open string"), ("0", "1", "2", "3", "4")),
    Keys(MUSIC, "above", later("That finger on the next higher string"), ("Ctrl+1", "Ctrl+2", "Ctrl+3", "Ctrl+4")),
    Keys(
        MUSIC,
        "below",
        later("That finger on the next lower string, 0 for the string itself"),
        ("Alt+0", "Alt+1", "Alt+2", "Alt+3", "Alt+4"),
    ),
    Keys(MUSIC, "thumb", later("The thumb for the selected note"), ("T",)),
    Keys(MUSIC, "way", later("The way to play above or below in the list"), ("Up", "Down")),
    Keys(MUSIC, "measures", later("Select measures: fewer, more"), ("Shift+Left", "Shift+Right")),
    Keys(MUSIC, "notes", later("Select notes: fewer, more"), ("Ctrl+Shift+Left", "Ctrl+Shift+Right")),
    Keys(
        MUSIC,
        "nudge",
        later("Move the mark in hand left, right, up, down"),
        ("Alt+Left", "Alt+Right", "Alt+Up", "Alt+Down"),
    ),
    Keys(MUSIC, "ends", later("To the beginning, to the end of the music"), ("Home", "End", "Ctrl+Home", "Ctrl+End")),
    Keys(MUSIC, "play", later("Play or stop"), ("Space",)),
    Keys(MUSIC, "clear", later("Select nothing"), ("Esc",)),
    Keys(FINGERBOARD, "along", later("The place nearer to the nut, nearer to the bridge"), ("Up", "Down")),
    Keys(FINGERBOARD, "across", later("The place on the string to the left, to the right"), ("Left", "Right")),
    Keys(FINGERBOARD, "take", later("Play the note there"), ("Return", "Enter", "Space")),
    Keys(FILES, "open", later("Open the file"), ("Return", "Enter", "Space")),
    Keys(FILES, "remove", later("Take the file off the list"), ("Del",)),
    Keys(
        PAPER, "turn", later("A view back, a view on, to the beginning, to the end"), ("PgUp", "PgDown", "Home", "End")
    ),
    Keys(PAPER, "smaller", later("Smaller"), ("Ctrl+-",)),
    Keys(PAPER, "larger", later("Larger"), ("Ctrl++",)),
    Keys(PAPER, "page", later("The whole page"), ("Ctrl+9",)),
    Keys(PAPER, "width", later("As wide as the window"), ("Ctrl+0",)),
    Keys(RULES, "undo", later("Undo an edit of the rules"), ("Ctrl+Z",)),
    Keys(RULES, "redo", later("Redo it"), ("Ctrl+Shift+Z",)),
    Keys(MANUAL, "find", later("Look for words"), ("Ctrl+F",)),
    Keys(MANUAL, "next", later("The next place, the place before with these words"), ("F3", "Shift+F3")),
    Keys(MANUAL, "history", later("Back to where you were, on again"), ("Alt+Left", "Alt+Right")),
    Keys(MANUAL, "close", later("Close the manual"), ("Esc",)),
)
_COUNTED = (
    Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.ControlModifier
    | Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier
)  # fmt: skip


def keys_of(place: str, name: str) -> tuple[QKeySequence, ...]:
    """The keys that do something at a place."""
    return tuple(QKeySequence(key) for row in KEYS if (row.place, row.name) == (place, name) for key in row.keys)


def pressed(place: str, event: QKeyEvent) -> tuple[str, int]:
    """What a key does at a place, by name, and which of the keys that do it; ``("", 0)`` for nothing.

    It does not count whether a key lies on the keypad, nor whether a digit needs the shift key on this keyboard.
    """
    key, modifiers = Qt.Key(event.key()), event.modifiers() & _COUNTED
    if Qt.Key.Key_0 <= key <= Qt.Key.Key_9:
        modifiers &= ~Qt.KeyboardModifier.ShiftModifier
    said = QKeySequence(QKeyCombination(modifiers, key)).toString(QKeySequence.SequenceFormat.PortableText)
    found = ((row.name, row.keys.index(said)) for row in KEYS if row.place == place and said in row.keys)
    return next(found, ("", 0))
