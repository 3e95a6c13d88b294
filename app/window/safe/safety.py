"""The safety net of the window: keeps the journal of what lies open, and knows what was left behind.

Each edit is written down before it is shown (``app.job.recovery.journal`` says what that keeps). The journal ends
when nothing needs it any more: the project is saved, or the user lets the work go. A process that dies leaves it
behind.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, Qt, QTimer, Signal

from analysis.language import _
from app.errors import AppError
from app.job.files.opening import Opened
from app.job.project.work_json import WorkWriter
from app.job.recovery.folder import Claim, LeftBehind, RecoveryFolder, stem_of
from app.job.recovery.journal import REWRITE_AFTER, Journal
from app.job.recovery.lines import Heading, State
from app.window.editing.desk import Desk

_AGAIN_AFTER_MS = 5000
_PATIENCE_S = 2.0


def recovery_folder() -> Path | None:
    """Where this user's journals lie, ``None`` where users have no folder for such."""
    folder = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppLocalDataLocation)
    return Path(folder) / "recovery" if folder else None


class Safety(QObject):
    """Writes down every edit on a desk in journals in ``folder``; nothing at all where that is ``None``.

    ``rewrite_after``: after how many lines a journal is written anew.
    """

    _refused = Signal(str)

    def __init__(self, desk: Desk, folder: Path | None, *, rewrite_after: int = REWRITE_AFTER) -> None:
        super().__init__(desk)
        self._desk, self._rewrite_after = desk, rewrite_after
        self._folder = None if folder is None else RecoveryFolder(folder)
        self._claim: Claim | None = None
        self._journal: Journal | None = None
        self._name = ""
        self._writer = WorkWriter(self._name)
        self._is_decided = True
        self._is_told = False
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.setInterval(_AGAIN_AFTER_MS)
        self._again.timeout.connect(self._keep)
        desk.opened.connect(self._opened)
        desk.saved.connect(self._saved)
        desk.work_changed.connect(self._edited)
        desk.part_changed.connect(self._keep)
        # Told later: a dialog in the middle of an edit would show the edit half done.
        self._refused.connect(self._tell, Qt.ConnectionType.QueuedConnection)

    # What was left behind, and who else is at work

    def left_behind(self, file: Path | None = None) -> tuple[LeftBehind, ...]:
        """Unsaved work whose process died, on one file or on any, the latest first."""
        return () if self._folder is None else self._folder.left_behind(file, self._claim)

    def throw_away(self, left: LeftBehind) -> None:
        """Let what was left behind go for good."""
        if self._folder is not None:
            self._folder.remove(left.journal, self._claim)

    def holder(self, file: Path) -> str | None:
        """The computer on which another window has that file open, ``None`` if none has."""
        stem = stem_of(file)
        if self._folder is None or (self._claim is not None and self._claim.stem == stem):
            return None
        return self._folder.holder(stem)

    # What the user decides

    def let_go(self) -> None:
        """What was done so far is saved or not wanted; what is done from now on is."""
        self._is_decided = True

    def end(self) -> None:
        """End the journal, as the window closes; it is left behind if the user was not asked about all of it."""
        self._again.stop()
        if self._journal is not None:
            self._journal.close(remove=self._is_decided)
            self._journal = None
        if self._claim is not None:
            self._claim.release()
            self._claim = None

    def flush(self) -> bool:
        """Have the disk take everything, when something is amiss or the session ends; whether it has."""
        if self._folder is None or self._desk.score is None:
            return True
        self._keep()
        return self._journal is not None and self._journal.flush(_PATIENCE_S)

    # What the desk tells

    def _opened(self) -> None:
        score = self._desk.score
        self._begin()
        if score is None or self._folder is None or self._journal is None or self._claim is None:
            return
        if score.journal is not None:
            self._folder.remove(score.journal, self._claim)
        if score.path is not None and self._claim.is_for_copy:
            # Another window was faster: two that save to one file would undo each other's work.
            self._desk.score = replace(score, path=None)

    def _begin(self) -> None:
        """Begin the journal of what lies open now; then the one before has done its work."""
        if self._desk.score is None or self._folder is None:
            return
        before, name, is_over = self._journal, self._name, self._is_decided
        self._journal, self._name = None, self._desk.score.document.name
        self._writer = WorkWriter(self._name)
        self._is_decided, self._is_told = self._desk.history.isClean(), False
        self._keep()
        if before is not None:
            before.close(remove=is_over)
            if not is_over:
                words = _("What you did to {name} meanwhile is kept, and offered when you open it again.")
                self._desk.said.emit(words.format(name=name))

    def _saved(self) -> None:
        self.let_go()
        self._begin()

    def _edited(self) -> None:
        self._is_decided = False
        self._keep()

    def _keep(self) -> None:
        """Write down what is different now; if that cannot be, try again by and by."""
        score = self._desk.score
        if score is None or self._folder is None:
            return
        try:
            if self._journal is None:
                self._start(score, self._folder)
            else:
                self._journal.write(self._state)
        except AppError as error:
            self._refused.emit(str(error))

    def _start(self, score: Opened, folder: RecoveryFolder) -> None:
        file = score.path or score.file or Path(score.document.name)
        stem, claim = stem_of(file), self._claim
        if claim is None or claim.file_stem != stem:
            claim = folder.claim(stem) or folder.claim_copy(stem)
        if self._claim is not None and self._claim is not claim:
            self._claim.release()
        self._claim = claim
        project = None if claim.is_for_copy else score.path
        self._journal = Journal(
            claim.new_journal(),
            Heading(score.document.name, file.absolute(), project, score.document.source),
            self._state,
            saved=self._is_decided and self._desk.history.isClean(),
            failed=self._refused.emit,
            rewrite_after=self._rewrite_after,
        )

    @property
    def _state(self) -> State:
        part = self._desk.part
        return {"work": self._writer.plain(self._desk.state.work), "in_hand": part.id if part else ""}

    def _tell(self, sentence: str) -> None:
        """Say that edits are not kept, once until the next saving or opening."""
        self._again.start()
        if not self._is_told:
            self._is_told = True
            self._desk.failed.emit(sentence)
