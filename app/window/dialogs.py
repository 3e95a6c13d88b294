"""Every question the window asks by a dialog, in one place."""

from __future__ import annotations

import enum
from collections.abc import Mapping, Sequence
from pathlib import Path

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QFormLayout,
    QGridLayout,
    QInputDialog,
    QLabel,
    QLineEdit,
    QMessageBox,
    QWidget,
)

from analysis.language import _, later
from app.job.teacher.printing import Copies, Printing
from app.window.editing.folder import Folder
from app.window.paper.printing_dialog import PrintingDialog
from app.window.style.colouring import Colouring
from app.window.style.colours_dialog import ColoursDialog
from app.window.widgets.text_dialog import TextDialog
from engraving.filebytes import mode_of

SCORE_SUFFIXES = (".musicxml", ".xml", ".mxl", ".handframe", ".mid", ".midi", ".abc", ".krn", ".mei")


def _files(*kinds: tuple[str, str]) -> str:
    """Kinds of files with their patterns, as Qt takes them."""
    return ";;".join(f"{name} ({patterns})" for name, patterns in kinds)


# In English: ``_in_words`` has them in the user's language.
SCORE_FILES = _files(
    (later("Scores and projects"), " ".join(f"*{suffix}" for suffix in SCORE_SUFFIXES)), (later("All files"), "*")
)
PROJECT_FILES = _files((later("Handframe projects"), "*.handframe"))
RULES_FILES = _files((later("House rules"), "*.toml"))
MUSICXML_FILES = _files(("MusicXML", "*.musicxml"), (later("Compressed MusicXML"), "*.mxl"))
PDF_FILES = _files(("PDF", "*.pdf"))
PICTURE_FILES = _files((later("Picture in dots"), "*.png"), (later("Picture in outlines"), "*.svg"))
SOUND_FILES = _files((later("Sound"), "*.wav"), ("MIDI", "*.mid"))


class Answer(enum.Enum):
    """What to do with unsaved work."""

    SAVE = enum.auto()
    DISCARD = enum.auto()
    CANCEL = enum.auto()


class Rescue(enum.Enum):
    """What to do with work that a process left behind when it died."""

    BRING_BACK = enum.auto()
    THROW_AWAY = enum.auto()
    LATER = enum.auto()


def ask_open(parent: QWidget, title: str, folder: Folder, files: str) -> Path | None:
    """A file to open, or ``None``."""
    name = QFileDialog.getOpenFileName(parent, title, str(folder.path), _in_words(files))[0]
    if name:
        folder.move_beside(Path(name))
    return Path(name) if name else None


def ask_target(parent: QWidget, title: str, folder: Folder, name: str, files: str, *endings: str) -> Path | None:
    """Where a file is to be written, with one of the ``endings``, or ``None``; ``name`` is suggested for it.

    A file that is there already is only given when it was agreed to replace it.
    """
    suggestion = str(folder.path / name)
    while (answer := ask_save(parent, title, suggestion, files)) is not None:
        path = path_to_write(answer, *endings)
        # Of a name that was typed whole the dialog has asked.
        if path == answer[0] or not mode_of(path) or ask_replace(parent, path.name):
            folder.move_beside(path)
            return path
        suggestion = str(path)
    return None


def ask_save(parent: QWidget, title: str, suggestion: str, files: str) -> tuple[Path, str] | None:
    """A file to write and the kind chosen for it, or ``None``."""
    name, kind = QFileDialog.getSaveFileName(parent, title, suggestion, _in_words(files))
    return (Path(name), kind) if name else None


def path_to_write(answer: tuple[Path, str], *endings: str) -> Path:
    """Where a file is to be written: a typed ending decides if it is one of ``endings``, in capitals or not.

    Else that of the kind that was chosen is added, or the first.
    """
    path, kind = answer
    if path.suffix.casefold() in endings:
        return path
    chosen = next((ending for ending in endings if f"*{ending}" in kind), endings[0])
    return path.with_name(path.name + chosen)


def _in_words(files: str) -> str:
    """Kinds of files in the user's language."""
    kinds = (kind.partition(" (") for kind in files.split(";;"))
    return _files(*((_(name), patterns.removesuffix(")")) for name, _between, patterns in kinds))


def ask_folder(parent: QWidget, title: str, folder: Folder) -> Path | None:
    """A folder to write to, or ``None``."""
    name = QFileDialog.getExistingDirectory(parent, title, str(folder.path))
    if name:
        folder.move_beside(Path(name))
    return Path(name) if name else None


def ask_unsaved(parent: QWidget, name: str) -> Answer:
    """What to do with the unsaved work on ``name``."""
    box = _box(parent, _("The work on {name} has not been saved.").format(name=name))
    return _settled(box, _("Save"), _("Don't save"))


def ask_replace(parent: QWidget, name: str) -> bool:
    """Whether to write over a file."""
    box = _box(parent, _("{name} is there already. Replacing it loses what is in it.").format(name=name))
    return _agreed(box, _("Replace it"))


def ask_rescue(parent: QWidget, sentences: str, *, can_bring_back: bool) -> Rescue:
    """What to do with work that was not saved, of which ``sentences`` tell."""
    box = _box(parent, sentences)
    bring = box.addButton(_("Bring it back"), QMessageBox.ButtonRole.AcceptRole) if can_bring_back else None
    throw = box.addButton(_("Throw it away"), QMessageBox.ButtonRole.DestructiveRole)
    wait = box.addButton(_("Later"), QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(wait if bring is None else bring)
    box.setEscapeButton(wait)
    box.exec()
    clicked = box.clickedButton()
    if clicked is throw:
        return Rescue.THROW_AWAY
    return Rescue.BRING_BACK if bring is not None and clicked is bring else Rescue.LATER


def ask_copy(parent: QWidget, sentences: str) -> bool:
    """Whether to open a copy of what lies open in another window, of which ``sentences`` tell."""
    return _agreed(_box(parent, sentences), _("Open a copy"))


def ask_unused(parent: QWidget, use: str, *, usable: bool) -> Answer:
    """What to do with house rules that are edited and neither used nor saved; ``use``: what using them is called."""
    box = _box(parent, _("The changed house rules are neither used nor saved."), _("House rules"))
    return _settled(box, use, _("Drop the changes"), can_save=usable)


def _box(parent: QWidget, sentences: str, title: str = "Handframe") -> QMessageBox:
    """A box without a picture, whose words begin where its buttons may: Qt leaves room for a picture all the same."""
    box = QMessageBox(parent)
    box.setWindowTitle(title)
    box.setText(sentences)
    grid, label = box.layout(), box.findChild(QLabel, "qt_msgbox_label")
    if isinstance(grid, QGridLayout) and label is not None:
        grid.addWidget(label, 0, 0, 1, -1)
    return box


def _agreed(box: QMessageBox, words: str) -> bool:
    """Whether the button of these words was chosen, and not the one that leaves all as it is."""
    agree = box.addButton(words, QMessageBox.ButtonRole.AcceptRole)
    cancel = box.addButton(_("Cancel"), QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(cancel)
    box.setEscapeButton(cancel)
    box.exec()
    return box.clickedButton() is agree


def _settled(box: QMessageBox, saving: str, discarding: str, *, can_save: bool = True) -> Answer:
    """What is to become of unsaved work, with the words on the buttons."""
    save = box.addButton(saving, QMessageBox.ButtonRole.AcceptRole)
    save.setEnabled(can_save)
    discard = box.addButton(discarding, QMessageBox.ButtonRole.DestructiveRole)
    box.addButton(_("Cancel"), QMessageBox.ButtonRole.RejectRole)
    box.exec()
    if box.clickedButton() is save:
        return Answer.SAVE
    return Answer.DISCARD if box.clickedButton() is discard else Answer.CANCEL


def ask_text(parent: QWidget, title: str, question: str, text: str) -> str | None:
    """A few words from the teacher, ``text`` to begin with; ``None`` when nothing shall change."""
    dialog = TextDialog(title, question, text, parent)
    agreed = dialog.exec() == QDialog.DialogCode.Accepted
    dialog.deleteLater()
    return dialog.words.toPlainText() if agreed else None


def ask_words(parent: QWidget, title: str, question: str, offered: Sequence[str]) -> str | None:
    """One of the texts offered, or one of the teacher's own; ``None`` when nothing shall be written."""
    said, agreed = QInputDialog.getItem(parent, title, question, list(offered), 0, editable=True)
    return said.strip() if agreed else None


def ask_choice(parent: QWidget, title: str, question: str, offered: Sequence[str], present: str = "") -> str | None:
    """One of the texts offered, ``present`` to begin with; ``None`` when nothing shall change."""
    at = offered.index(present) if present in offered else 0
    said, agreed = QInputDialog.getItem(parent, title, question, list(offered), at, editable=False)
    return said if agreed else None


def ask_passage(parent: QWidget, question: str, name: str, players: str) -> tuple[str, str] | None:
    """A passage's name and its players; ``None`` when nothing shall change."""
    dialog = QDialog(parent)
    dialog.setWindowTitle(_("Passage"))
    form = QFormLayout(dialog)
    form.addRow(QLabel(question, dialog))
    fields = QLineEdit(name, dialog), QLineEdit(players, dialog)
    for label, field in zip((_("Name"), _("Players")), fields, strict=True):
        form.addRow(label, field)
    buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel, dialog)
    buttons.accepted.connect(dialog.accept)
    buttons.rejected.connect(dialog.reject)
    form.addRow(buttons)
    agreed = dialog.exec() == QDialog.DialogCode.Accepted
    dialog.deleteLater()
    return (fields[0].text(), fields[1].text()) if agreed else None


def ask_printing(
    parent: QWidget, printing: Printing, parts: Sequence[tuple[str, str, Copies]]
) -> tuple[Printing, Mapping[str, Copies]] | None:
    """How parts are printed, and the copies by part; ``parts`` are ids, names and copies. ``None``: as before."""
    dialog = PrintingDialog(printing, parts, parent)
    agreed = dialog.exec() == QDialog.DialogCode.Accepted
    dialog.deleteLater()
    return (dialog.printing, dialog.copies) if agreed else None


def ask_colours(parent: QWidget, colouring: Colouring) -> None:
    """Which colours to show, and show them."""
    dialog = ColoursDialog(colouring, parent)
    dialog.exec()
    dialog.deleteLater()


def tell_bug(parent: QWidget, sentences: str, details: str) -> None:
    """Show that something of Handframe's own went wrong, with ``details`` to copy."""
    box = QMessageBox(QMessageBox.Icon.Information, "Handframe", sentences, parent=parent)
    box.setDetailedText(details)
    go_on = box.addButton(_("Go on"), QMessageBox.ButtonRole.AcceptRole)
    copy = box.addButton(_("Copy the details"), QMessageBox.ButtonRole.ActionRole)
    copy.clicked.disconnect()  # it leaves the dialog open
    copy.clicked.connect(lambda: QGuiApplication.clipboard().setText(details))
    box.setDefaultButton(go_on)
    box.setEscapeButton(go_on)
    box.exec()
    box.deleteLater()


def tell(parent: QWidget, sentence: str) -> None:
    """Show what went wrong."""
    QMessageBox.warning(parent, "Handframe", sentence)
