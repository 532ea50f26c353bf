"""What every journal must do, whichever database keeps it. A test class for one journal inherits this and opens it."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from cbi_monitor.journal.port import Fault, Journal, Stored
from cbi_monitor.model.canonical import canonical_bytes, order_key
from cbi_monitor.model.events import Event
from cbi_monitor.model.findings import Refusal, Refused
from tests.journal.lines import AT, bag, event, opened


class JournalContract:
    """Inherit, and give a fixture ``journal`` (an empty one)."""

    # --- saved ----------------------------------------------------------------------------------------------------

    def test_an_empty_journal_holds_nothing(self, journal: Journal):
        assert journal.read_after(0) == []
        assert journal.sessions() == []
        assert journal.events("s") == []
        assert journal.get("open-s") is None
        assert journal.verify().whole

    def test_what_was_appended_is_read_back_in_order_of_arrival(self, journal: Journal):
        first = journal.append([opened(), bag()])
        second = journal.append([event("back", "b")])
        assert (first.seq, first.ids, first.already) == (2, ("open-s", "bag-s-A"), ())
        assert (second.seq, second.ids) == (3, ("b",))
        assert journal.read_after(0) == [Stored(1, opened()), Stored(2, bag()), Stored(3, event("back", "b"))]
        assert journal.read_after(2) == [Stored(3, event("back", "b"))]
        assert journal.read_after(3) == []

    def test_events_of_a_session_come_in_the_total_order(self, journal: Journal):
        late = event("back", "z", at="2026-03-01T09:00:00+00:00")
        journal.append([late, bag(), opened(), opened("t")])
        assert (
            journal.events("s") == sorted([late, bag(), opened()], key=order_key) == [opened(), bag(), late]
        )
        assert journal.sessions() == ["s", "t"]
        assert journal.get("z") == late

    def test_nothing_appended_is_saved_too(self, journal: Journal):
        assert journal.append([]).seq == 0
        journal.append([opened()])
        assert journal.append([]).seq == 1

    def test_bytes_stay_as_they_were_written(self, journal: Journal):
        odd = event(
            "note", "n", text="Ünïcode \x00 \u2028 ☃ 'quoted' \"twice\"", at="2026-03-01T12:45:00+05:45"
        )
        journal.append([odd])
        assert canonical_bytes(journal.read_after(0)[0].event) == canonical_bytes(odd)

    def test_the_same_entry_again_adds_nothing(self, journal: Journal):
        journal.append([opened(), bag()])
        again = journal.append([bag(), event("back", "b"), opened()])
        assert again.ids == ("b",)
        assert sorted(again.already) == ["bag-s-A", "open-s"]
        assert len(journal.read_after(0)) == 3
        twins = journal.append([event("back", "c"), event("back", "c")])
        assert twins.ids == ("c",)

    def test_many_at_once(self, journal: Journal):
        many = [event("back", f"b{n}") for n in range(1200)]
        assert journal.append(many).seq == 1200
        assert len(journal.append(many).already) == 1200

    # --- refused --------------------------------------------------------------------------------------------------

    @staticmethod
    def refused(journal: Journal, *events: Event, live_at: str | None = None) -> tuple[Refusal, ...]:
        before = journal.read_after(0)
        now = None if live_at is None else datetime.fromisoformat(live_at)
        with pytest.raises(Refused) as caught:
            journal.append([event("note", "good", text="in the same breath"), *events], live_at=now)
        assert journal.read_after(0) == before, "something was written"
        return caught.value.refusals

    def test_an_entry_without_an_id(self, journal: Journal):
        bare = opened().model_copy(update={"id": ""})
        (fault,) = self.refused(journal, bare)
        assert fault.field == "id"

    def test_another_entry_under_an_id_that_is_taken(self, journal: Journal):
        journal.append([event("note", "n", text="one")])
        (fault,) = self.refused(journal, event("note", "n", text="two"))
        assert fault.field == "id"
        (fault,) = self.refused(journal, event("note", "m", text="one"), event("note", "m", text="two"))
        assert fault.field == "id"

    def test_a_second_opening(self, journal: Journal):
        journal.append([opened()])
        (fault,) = self.refused(journal, event("session_opened", "again", patient="demo-12"))
        assert fault.field == "session"
        twice = [event("session_opened", name, session="t", patient="demo-13") for name in ("x", "y")]
        assert len(self.refused(journal, *twice)) == 1

    def test_a_change_of_an_entry_that_is_not_there(self, journal: Journal):
        journal.append([opened(), opened("t")])
        faults = self.refused(
            journal,
            event("struck_out", "a", target="nowhere", reason="r"),
            event("corrected", "b", target="open-t", fields={"bed": "4"}, reason="r"),
        )
        assert [fault.field for fault in faults] == ["target", "target"]

    def test_a_change_of_an_entry_that_is_there(self, journal: Journal):
        journal.append([opened(), bag()])
        corrected = event("corrected", "c", target="bag-s-A", fields={"label_ml": 1000}, reason="r")
        struck = event("struck_out", "d", target="c", reason="r")
        assert journal.append([corrected]).seq == 3
        assert journal.append([struck]).seq == 4
        both = [
            event("note", "n", text="x"),
            event("corrected", "e", target="n", fields={"text": "y"}, reason="r"),
        ]
        assert journal.append(both).seq == 6

    def test_a_correction_of_a_correction(self, journal: Journal):
        journal.append(
            [bag(), event("corrected", "c", target="bag-s-A", fields={"label_ml": 1000}, reason="r")]
        )
        (fault,) = self.refused(
            journal, event("corrected", "d", target="c", fields={"reason": "x"}, reason="r")
        )
        assert fault.field == "target"

    def test_a_correction_after_which_the_entry_would_be_refused(self, journal: Journal):
        journal.append([opened(), bag(), event("bag_read", "r", line="A", left_ml=100)])
        for number, (fields, field) in enumerate(
            [({"left_ml": -1}, "fields.left_ml"), ({"left_g": 5}, "fields"), ({"line": "B"}, "fields.line")]
        ):
            (fault,) = self.refused(
                journal, event("corrected", f"c{number}", target="r", fields=fields, reason="r")
            )
            assert fault.field == field

    def test_a_strike_out_that_would_leave_a_later_correction_without_its_ground(self, journal: Journal):
        at = "2026-03-01T0{}:00:00+00:00".format
        grams = {"left_ml": None, "left_g": 900}
        journal.append(
            [
                bag(),
                event("bag_read", "r", line="A", left_ml=100),
                event("corrected", "c1", target="r", fields=grams, reason="r", recorded=at(8)),
                event("corrected", "c2", target="r", fields={"left_g": 800}, reason="r", recorded=at(9)),
            ]
        )
        (fault,) = self.refused(journal, event("struck_out", "d", target="c1", reason="r"))
        assert fault.field == "target"
        journal.append([event("struck_out", "e", target="c2", reason="r")])
        journal.append([event("struck_out", "f", target="c1", reason="r")])

    def test_a_line_on_which_no_bag_was_hung(self, journal: Journal):
        journal.append([opened(), bag(), opened("t")])
        read = event("bag_read", "r", line="B", left_ml=1)
        early = event("bag_read", "q", line="A", left_ml=1, at="2026-03-01T06:59:00+00:00")
        other = event("bag_read", "p", line="A", left_ml=1, session="t")
        assert [fault.field for fault in self.refused(journal, read, early, other)] == ["line"] * 3
        (fault,) = self.refused(journal, early)
        assert fault.field == "line"
        (fault,) = self.refused(journal, other)
        assert fault.field == "line"
        assert journal.append([bag("B"), read]).seq == 5
        assert journal.append([event("bag_read", "o", line="B", left_ml=0)]).seq == 6

    def test_a_line_that_a_correction_gave(self, journal: Journal):
        read = event("bag_read", "r", line="B", left_ml=1)
        journal.append([opened(), bag()])
        self.refused(journal, read)
        journal.append([event("corrected", "c", target="bag-s-A", fields={"line": "B"}, reason="r"), read])
        journal.append([event("struck_out", "d", target="c", reason="r")])

    def test_a_live_entry_in_the_future(self, journal: Journal):
        ahead = event("back", "b", at="2026-03-01T07:02:01+00:00")
        (fault,) = self.refused(journal, ahead, live_at=AT)
        assert fault.field == "at"
        assert "2026-03-01T07:02:01" in fault.what
        within = event("back", "c", at="2026-03-01T07:02:00+00:00")
        assert journal.append([within], live_at=datetime.fromisoformat(AT)).seq == 1
        assert journal.append([ahead]).seq == 2, "a file has a clock of its own"

    def test_every_refusal_is_told_at_once_with_its_place(self, journal: Journal):
        journal.append([opened()])
        events = [
            event("bag_read", "r", line="A", left_ml=1),
            event("struck_out", "d", target="nowhere", reason="r"),
            event("session_opened", "again", patient="x"),
        ]
        places = {one.id: ("chart.jsonl", number) for number, one in enumerate(events, start=4)}
        with pytest.raises(Refused) as caught:
            journal.append(events, places=places)
        assert sorted((f.where, f.line, f.field) for f in caught.value.refusals) == [
            ("chart.jsonl", 4, "line"),
            ("chart.jsonl", 5, "target"),
            ("chart.jsonl", 6, "session"),
        ]

    def test_what_could_not_be_read_again_is_not_taken(self, journal: Journal):
        unread = opened("u").model_copy(update={"weight_kg": float("nan")})
        assert len(self.refused(journal, unread)) == 1
        odd = event("note", "n", text="x").model_copy(update={"text": "\ud800"})
        assert len(self.refused(journal, odd)) == 1

    # --- the end --------------------------------------------------------------------------------------------------

    def test_verifying_tells_how_much_there_is_and_where_the_chain_ends(self, journal: Journal):
        journal.append(
            [opened(), bag(), opened("t")], live_at=datetime.fromisoformat(AT) + timedelta(hours=1)
        )
        verdict = journal.verify()
        assert verdict.whole
        assert (verdict.entries, verdict.sessions) == (3, 2)
        (before,) = verdict.head.values()
        journal.append([event("back", "b")])
        (after,) = journal.verify().head.values()
        assert before != after

    def test_a_closed_journal_says_so(self, journal: Journal):
        journal.close()
        journal.close()
        with pytest.raises(Fault) as caught:
            journal.append([opened()])
        assert caught.value.kind == "closed"
        with pytest.raises(Fault):
            journal.read_after(0)
