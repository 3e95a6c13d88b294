"""The manual as the help window shows it: Markdown laid out, pictures in the width of the text, headings to jump to."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QEvent, QSignalBlocker, Qt, QUrl
from PySide6.QtGui import (
    QImage,
    QKeySequence,
    QTextBlock,
    QTextCharFormat,
    QTextCursor,
    QTextDocument,
    QTextFrameFormat,
    QTextLength,
    QTextTable,
)
from PySide6.QtWidgets import QTextBrowser, QWidget

from analysis.language import _
from app.help.manual import MANUAL, ROOM, SHORTCUTS, anchor_of, build_manual, build_shortcuts
from app.window.style import look

# Where the pages lie for the links in them.
_AT = "manual:/"
_MARGIN, _PICTURE_WIDTH = 18, 680  # pixels
_BEFORE_HEADING, _AFTER_HEADING = 16, 4  # pixels
_CONTENTS_LEVEL = 2
_KEYS_SHARE = 42  # of the width, in percent, so that the tables of keys stand in line below each other


def native(keys: str) -> str:
    """Keys as this platform writes them."""
    return QKeySequence(keys).toString(QKeySequence.SequenceFormat.NativeText)


class ManualPage(QTextBrowser):
    """The manual, or the page of keys; links lead from one to the other."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._texts: Mapping[str, str] = {MANUAL: build_manual(native), SHORTCUTS: build_shortcuts(native)}
        self.setAccessibleName(_("The manual"))
        self.sourceChanged.connect(self._arrived)

    @property
    def headings(self) -> list[tuple[str, str]]:
        """The headings of the manual's contents, each with what a link to it is called."""
        mark = "#" * _CONTENTS_LEVEL + " "
        found = [line.removeprefix(mark) for line in self._texts[MANUAL].splitlines() if line.startswith(mark)]
        return [(words, anchor_of(words)) for words in found]

    def turn_to(self, page: str, anchor: str = "") -> None:
        """Show a page, at a heading of it or at its beginning."""
        self.setSource(QUrl(f"{_AT}{page}#{anchor}" if anchor else f"{_AT}{page}"))

    def look_for(self, words: str, *, back: bool = False) -> bool:
        """Go to the next place with these words, or the place before, round the end; whether there is one."""
        flags = QTextDocument.FindFlag.FindBackward if back else QTextDocument.FindFlag(0)
        if not words or self.find(words, flags):
            return bool(words)
        here = self.textCursor()
        self.moveCursor(QTextCursor.MoveOperation.End if back else QTextCursor.MoveOperation.Start)
        found = self.find(words, flags)
        if not found:
            self.setTextCursor(here)
        return found

    def loadResource(self, type: int, name: QUrl | str) -> object:
        """The pages by name, and their pictures, no wider than the text."""
        path = _page_of(QUrl(name))
        return self._texts[path] if path in self._texts else self._picture(path)

    def _picture(self, path: str) -> QImage:
        picture = QImage(str(ROOM / path))
        if picture.isNull():
            return picture
        ratio = self.devicePixelRatioF()
        wide = round(min(picture.width(), _PICTURE_WIDTH) * ratio)
        picture = picture.scaledToWidth(wide, Qt.TransformationMode.SmoothTransformation)
        picture.setDevicePixelRatio(ratio)
        return picture

    def changeEvent(self, event: QEvent) -> None:
        """Lay the page out anew in the colours of another palette, which links and tables hold by themselves."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and not self.source().isEmpty():
            place = self.verticalScrollBar().value()
            self.reload()
            self.verticalScrollBar().setValue(place)

    def _arrived(self, source: QUrl) -> None:
        """A page that was laid out anew gets what Markdown cannot say of its look, and its headings their names."""
        if self.document().begin().blockFormat().topMargin() != _BEFORE_HEADING:
            self._dress(_page_of(source))
            if source.fragment():
                self.scrollToAnchor(source.fragment())

    def _dress(self, page: str) -> None:
        document = self.document()
        # What is told to have been changed would be read anew at every jump within it.
        with QSignalBlocker(document):
            document.setDocumentMargin(_MARGIN)
            block = document.begin()
            while block.isValid():
                self._dress_block(block)
                block = block.next()
            self._dress_tables(document, in_line=page == SHORTCUTS)
            # Lists after pictures would be left without height.
            document.markContentsDirty(0, document.characterCount())

    def _dress_tables(self, document: QTextDocument, *, in_line: bool) -> None:
        for frame in document.rootFrame().childFrames():
            if isinstance(frame, QTextTable):
                shape = frame.format()
                shape.setBorderStyle(QTextFrameFormat.BorderStyle.BorderStyle_Solid)
                shape.setBorderBrush(self.palette().color(look.HAIRLINE))
                shape.setWidth(_share(100))
                if in_line:
                    shape.setColumnWidthConstraints([_share(_KEYS_SHARE), _share(100 - _KEYS_SHARE)])
                frame.setFormat(shape)

    def _dress_block(self, block: QTextBlock) -> None:
        cursor = QTextCursor(block)
        shape = block.blockFormat()
        if shape.headingLevel():
            shape.setTopMargin(_BEFORE_HEADING)
            shape.setBottomMargin(_AFTER_HEADING)
            named = QTextCharFormat()
            named.setAnchor(True)
            named.setAnchorNames([anchor_of(block.text())])
            cursor.setBlockFormat(shape)
            cursor.movePosition(QTextCursor.MoveOperation.EndOfBlock, QTextCursor.MoveMode.KeepAnchor)
            cursor.mergeCharFormat(named)


def _page_of(place: QUrl) -> str:
    """The name of a page, or of a picture."""
    return place.path().removeprefix("/")


def _share(percent: float) -> QTextLength:
    """A share of the width there is."""
    return QTextLength(QTextLength.Type.PercentageLength, percent)
