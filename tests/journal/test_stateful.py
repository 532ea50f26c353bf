"""The SQLite journal beside a plain list: whatever is done to both, they tell the same, also after opening again."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from cbi_monitor.journal.codec import parse_bytes, session_bytes
from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.model.canonical import canonical_bytes, order_key
from cbi_monitor.model.events import Event
from cbi_monitor.model.findings import Refused
from tests.journal.lines import event
from tests.strategies import charts


class JournalBesideAList(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="journal-"))
        self.path = self.folder / "journal.sqlite"
        self.journal = SqliteJournal(self.path)
        self.list: list[Event] = []
        self.charted = 0

    def teardown(self) -> None:
        self.journal.close()
        shutil.rmtree(self.folder)

    @initialize()
    def start(self) -> None:
        assert self.journal.read_after(0) == []

    @rule(data=st.data())
    def chart_a_session(self, data: st.DataObject) -> None:
        """A whole session in parts, as a nurse would save it: check by check."""
        self.charted += 1
        rest = data.draw(charts(session=f"s{self.charted}", most=6))
        taken = {one.id for one in self.list}
        rest = [one for one in rest if one.id not in taken]
        while rest:
            size = data.draw(st.integers(1, len(rest)))
            part, rest = rest[:size], rest[size:]
            saved = self.journal.append(part)
            self.list.extend(part)
            assert saved.ids == tuple(one.id for one in part)
            assert saved.seq == len(self.list)

    @rule(data=st.data())
    def save_again(self, data: st.DataObject) -> None:
        some = data.draw(st.lists(st.sampled_from(self.list), max_size=5)) if self.list else []
        saved = self.journal.append(some)
        assert saved.ids == ()
        assert set(saved.already) == {one.id for one in some}
        assert saved.seq == len(self.list)

    @rule(data=st.data())
    def save_something_else_under_a_taken_id(self, data: st.DataObject) -> None:
        if not self.list:
            return
        entry = data.draw(st.sampled_from(self.list)).id
        good = event("note", "never-saved", text="x")
        with pytest.raises(Refused):
            self.journal.append([good, event("note", entry, text="something else", check="other")])
        assert self.journal.get("never-saved") is None

    @rule(data=st.data())
    def change_what_is_not_there(self, data: st.DataObject) -> None:
        session = data.draw(st.sampled_from([one.session for one in self.list] or ["s"]))
        with pytest.raises(Refused):
            self.journal.append([event("struck_out", "never", session=session, target="nowhere", reason="r")])

    @rule()
    def open_again(self) -> None:
        self.journal.close()
        self.journal = SqliteJournal(self.path)

    @rule()
    def leave_without_closing(self) -> None:
        """As after a kill: the file beside it (-wal) is what the next one starts from."""
        copy = self.folder / f"copy-{len(list(self.folder.iterdir()))}.sqlite"
        for rest in ("", "-wal"):
            file = self.path.with_name(self.path.name + rest)
            if file.exists():
                shutil.copy(file, copy.with_name(copy.name + rest))
        self.journal.close()
        self.path = copy
        self.journal = SqliteJournal(self.path)

    @rule(count=st.integers(0, 30))
    def read_from_somewhere(self, count: int) -> None:
        stored = self.journal.read_after(count)
        assert [one.event for one in stored] == self.list[count:]
        assert [one.seq for one in stored] == list(range(count + 1, len(self.list) + 1))

    @rule()
    def export_and_import_again(self) -> None:
        for session in self.journal.sessions():
            written = session_bytes(self.journal.events(session))
            read = parse_bytes(written, where="x")
            assert read.refusals == ()
            assert self.journal.append([entry.event for entry in read.entries]).ids == ()

    @invariant()
    def both_tell_the_same(self) -> None:
        sessions = list(dict.fromkeys(one.session for one in self.list))
        assert self.journal.sessions() == sessions
        for session in sessions:
            mine = sorted((one for one in self.list if one.session == session), key=order_key)
            assert [canonical_bytes(e) for e in self.journal.events(session)] == [
                canonical_bytes(e) for e in mine
            ]

    @rule()
    def verify(self) -> None:
        verdict = self.journal.verify()
        assert verdict.whole, verdict.breaks
        assert verdict.entries == len(self.list)


TestJournalBesideAList = JournalBesideAList.TestCase
TestJournalBesideAList.settings = settings(max_examples=40, stateful_step_count=20)
