"""The seven demo sessions: invented patients on one invented ward, each told by the simulator with a written plot.

A story is a scene, a seed, a start in local time, and what is done to the chart afterwards (a mistyped figure that is
corrected). Times on the chart carry the ward's offset as a nurse would write it. Everything is made up.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta, timezone
from typing import Any
from zoneinfo import ZoneInfo

from cbi_monitor.model.events import Corrected, Event
from cbi_monitor.practice.scene import (
    Bags,
    Bleeding,
    Body,
    Drainage,
    Habits,
    Line,
    Plan,
    Reader,
    Scene,
    Trouble,
)
from cbi_monitor.practice.sitting import Sitting

ZONE = ZoneInfo("Europe/London")
Entry = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Mistyped:
    """The ``nth`` entry of a kind was typed wrong, and corrected some minutes later with a reason."""

    kind: str
    nth: int
    name: str
    wrong: float
    reason: str
    minutes: float = 6.0


@dataclass(frozen=True, slots=True)
class Story:
    """A demo session: its plot, when it starts, and two lines on what it teaches."""

    name: str
    start: datetime
    seed: int
    scene: Scene
    teaches: str
    mistyped: tuple[Mistyped, ...] = ()
    sitting: Callable[[], Sitting] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "sitting", lambda: Sitting(self.scene, self.seed, self.start))

    def tell(self) -> tuple[list[Event], Sitting]:
        """The chart, and the sitting that knows the truth."""
        sitting = self.sitting()
        events = sitting.whole()
        for slip in self.mistyped:
            events = _slip(events, slip)
        return [in_zone(event) for event in events], sitting


def _slip(events: list[Event], slip: Mistyped) -> list[Event]:
    """The chart with one figure typed wrong, and its correction."""
    places = [place for place, event in enumerate(events) if event.event == slip.kind]
    place = places[slip.nth - 1]
    told = events[place]
    right = getattr(told, slip.name)
    at = told.typed_at + timedelta(minutes=slip.minutes)
    mended = Corrected(
        session=told.session,
        at=at - timedelta(seconds=at.second),
        recorded=at,
        by=told.by,
        id=told.id.replace("-0000-8000-", "-0001-8000-"),
        target=told.id,
        fields={slip.name: right},
        reason=slip.reason,
    )
    return [*events[:place], told.model_copy(update={slip.name: slip.wrong}), *events[place + 1 :], mended]


def in_zone(event: Event) -> Event:
    """The same event with the ward's offset on each of its times, as it was on the clock on the wall."""
    moved = {}
    for name in event.model_fields_set:
        value = getattr(event, name)
        if isinstance(value, datetime):
            offset = value.astimezone(ZONE).utcoffset()
            moved[name] = value.astimezone(timezone(offset)) if offset else value.astimezone(UTC)
    return event.model_copy(update=moved)


class _Clock:
    """Turns a time on the wall into an hour of the story. ``later``: the second pass of an hour that comes twice."""

    def __init__(self, year: int, month: int, day: int, hour: int, minute: int) -> None:
        self.start = datetime(year, month, day, hour, minute, tzinfo=ZONE).astimezone(UTC)
        self._day = datetime(year, month, day, tzinfo=ZONE)

    def __call__(self, text: str) -> float:
        """``"2 07:00"``: 07:00 on the second day of the story."""
        day, wall = text.split()
        hour, minute = wall.split(":")
        at = (self._day + timedelta(days=int(day) - 1)).replace(hour=int(hour), minute=int(minute))
        return (at.astimezone(UTC) - self.start).total_seconds() / 3600.0


def _catheter(**changed: Any) -> Entry:
    entry = {
        "event": "catheter_placed",
        "french": 22.0,
        "ways": 3,
        "tip": "coude",
        "material": "silicone",
        "balloon_ml": 40.0,
        "balloon_filled_with": "water",
    }
    return {**entry, **changed}


def _order(**said: Any) -> Entry:
    entry = {
        "event": "ordered",
        "by_whom": "Dr A.R.",
        "how": "written",
        "target_grade": "pale_pink",
        "washout": "nurse",
        "fluid": "saline_0_9",
        "call_if": ["no drainage after one washout", "dark red for half an hour", "pain 7 or more"],
    }
    return {**entry, **said}


def _note(text: str, **more: Any) -> Entry:
    return {"event": "note", "text": text, **more}


def _lab(name: str, value: float, unit: str) -> Entry:
    return {"event": "lab_result", "name": name, "value": value, "unit": unit}


def _drink(ml: float, route: str = "by mouth", **more: Any) -> Entry:
    return {"event": "fluid_taken", "route": route, "volume": ml, **more}


_MINUTES = ((850.0, 10.0), (170.0, 15.0), (120.0, 18.0), (0.0, 24.0))
"""Above this rate (mL/h), a check every so many minutes: so close that a full block stays harmless."""


def _looked_after(rates: tuple[tuple[float, float], ...], volumes_every: float = 60.0) -> Plan:
    ends = [*(hour for hour, _ in rates[1:]), 1e9]
    every = [
        (end, next(minutes for above, minutes in _MINUTES if rate > above))
        for end, (_, rate) in zip(ends, rates, strict=True)
    ]
    return Plan(tuple(every), volumes_every)


WARD_HABITS = Habits(
    off_part=0.03,
    off_minutes=1.5,
    missed=0.0,
    bag_marks=Reader(50.0, 20.0),
    drainage_marks=Reader(50.0, 25.0),
    jug=Reader(25.0, 0.0, 0.01),
    drainage="two_thirds",
    measures="jug",
    sees_log_sd=0.06,
    obs_every_h=4.0,
    typed_within_minutes=1.5,
)


def _habits(rates: tuple[tuple[float, float], ...], volumes_every: float = 60.0, **changed: Any) -> Habits:
    return replace(WARD_HABITS, **{"plan": _looked_after(rates, volumes_every), **changed})


def smooth_wean() -> Story:
    """Two days after prostate surgery: colour clears, the rate follows, nothing happens."""
    on = _Clock(2026, 3, 2, 14, 10)
    rates = (
        (0, 1000),
        (on("1 18:00"), 800),
        (on("1 22:00"), 600),
        (on("2 05:00"), 400),
        (on("2 13:00"), 300),
        (on("3 06:00"), 200),
        (on("3 18:00"), 150),
        (on("4 08:00"), 100),
    )
    scene = Scene(
        hours=on("4 13:40"),
        session="demo-7A",
        body=Body(weight_kg=84.0, rings=True),
        bleeding=Bleeding(((0, 19), (1.2, 12), (3, 7), (8, 4), (14, 1.6), (24, 0.6), (40, 0.1))),
        rates=rates,
        bags=Bags(over_label=0.038, over_sd=0.006),
        habits=_habits(rates, late_part=0.01),
        opening=(
            ("patient", "P-0417"), ("bed", "7A"), ("weight_from", "scales"), ("age_years", 71.0), ("sex", "male"),
            ("operation", "resection of the prostate through the urethra"),
            ("operation_ended", on.start - timedelta(minutes=55)), ("from_place", "recovery"),
            ("indication", "after prostate surgery"), ("allergies", ["penicillin"]), ("fluid", "saline_0_9"),
            ("kidney", "usual"), ("blood_thinners", False), ("baseline_hb", 142.0), ("baseline_na", 139.0),
        ),
        extras=(
            (0.0, _catheter()),
            (0.05, _order(rate_low_ml_per_h=100.0, rate_high_ml_per_h=1200.0, expected_urine="usual")),
            (0.1, {"event": "traction_on", "until": (on.start + timedelta(hours=4)).isoformat()}),
            (on("1 18:05"), {"event": "traction_off"}),
            (on("1 17:20"), _drink(200)), (on("1 20:30"), _drink(250)),
            (on("2 08:10"), _drink(150)),
            (on("2 08:16"), {"event": "corrected", "target": "last fluid_taken", "fields": {"volume": 250},
                             "reason": "second cup seen on the table"}),
            (on("2 08:40"), _lab("hb", 131.0, "g/L")), (on("2 08:41"), _lab("na", 138.0, "mmol/L")),
            (on("2 10:00"), _note("Seen by the surgeon. Halve the rate when pale pink for four hours.")),
            (on("2 12:45"), _order(how="phone", read_back=True, rate_low_ml_per_h=60.0, rate_high_ml_per_h=600.0)),
            (on("3 08:30"), _lab("hb", 128.0, "g/L")),
            (on("3 14:00"), _note("Walked to the chair, bag below the bladder, tubing slack.", late_minutes=45)),
            (on("4 09:00"), _note("Irrigation-off trial to be decided on the evening round.")),
        ),
        staff=((0, "K.M."), (on("1 19:00"), "T.O."), (on("2 07:00"), "R.D."), (on("2 19:00"), "T.O."),
               (on("3 07:00"), "K.M."), (on("3 19:00"), "S.A."), (on("4 07:00"), "K.M.")),
    )  # fmt: skip
    return Story(
        "smooth_wean", on.start, 71, scene,
        "An undisturbed wean over two days after prostate surgery: the rate follows the colour down, and the balance "
        "adds up.\nShows what a quiet chart looks like, a mistyped level set right, a late entry, and that the doubt "
        "grows with every bag.",
        (Mistyped("drainage_read", 4, "contents_ml", 9500.0, "a nought too many"),),
    )  # fmt: skip


def clot_block() -> Story:
    """A clot shuts the catheter in the evening; washed out; the next morning it narrows again."""
    on = _Clock(2026, 4, 11, 16, 30)
    rates = ((0, 700), (on("1 18:30"), 900), (on("2 03:00"), 600), (on("2 08:00"), 850))
    scene = Scene(
        hours=on("2 09:33"),
        session="demo-3B",
        body=Body(weight_kg=76.0, feels=0.8, capacity_ml=380.0, rings=True, spasms_per_h=0.1),
        bleeding=Bleeding(((0, 14), (2, 24), (4.5, 30), (7, 12), (12, 6), (15, 10), (18, 14))),
        rates=rates,
        bags=Bags(over_label=0.045, over_sd=0.006),
        troubles=(
            Trouble(on("1 20:45"), "full", 4.0, washouts_needed=2),
            Trouble(on("2 08:46"), "partial", 8.0, passes_ml_per_h=420.0),
        ),
        habits=_habits(rates, washout_mends=1.0),
        opening=(
            ("patient", "P-0388"), ("bed", "3B"), ("weight_from", "stated"), ("age_years", 66.0), ("sex", "male"),
            ("operation", "resection of a bladder tumour"), ("operation_ended", on.start - timedelta(minutes=80)),
            ("from_place", "recovery"), ("indication", "bleeding after bladder surgery"), ("fluid", "saline_0_9"),
            ("kidney", "usual"), ("blood_thinners", "stopped five days ago"), ("baseline_hb", 128.0),
        ),
        extras=(
            (0.0, _catheter(balloon_ml=30.0)),
            (0.05, _order(rate_low_ml_per_h=300.0, rate_high_ml_per_h=1200.0, expected_urine="usual")),
            (on("1 21:08"), {"event": "called", "whom": "urology on call", "how": "phone",
                             "about": "not draining, first washout did not come back",
                             "told": "bed 3B, not draining since about 21:00, inflow is off, pain 7, no return",
                             "answer": "wash out once more, larger pushes, coming up", "read_back": True}),
            (on("1 21:34"), _note("Clots the size of a pea in the dish.")),
            (on("1 23:50"), _lab("hb", 116.0, "g/L")),
            (on("2 08:20"), _lab("hb", 112.0, "g/L")), (on("2 08:05"), _drink(200)),
        ),
        staff=((0, "R.D."), (on("1 19:00"), "S.A."), (on("2 07:00"), "R.D.")),
    )  # fmt: skip
    return Story(
        "clot_block", on.start, 38, scene,
        "A full block by a clot, a washout that fails, one that frees it, and the recovery afterwards.\n"
        "Ends with the way out narrowing again: it drips, yet more runs in than comes out.",
    )  # fmt: skip


def forgotten_emptying() -> Story:
    """An emptied drainage bag was never written down."""
    on = _Clock(2026, 5, 18, 6, 40)
    rates = ((0, 500), (on("1 18:00"), 400))
    scene = Scene(
        hours=on("2 13:44"),
        session="demo-5C",
        body=Body(weight_kg=69.0),
        bleeding=Bleeding(((0, 5), (8, 3), (30, 1))),
        rates=rates,
        bags=Bags(over_label=0.03, over_sd=0.006),
        habits=_habits(rates, forgets_nth_emptying=(3,), change_at_ml=40.0),
        opening=(
            ("patient", "P-0402"), ("bed", "5C"), ("weight_from", "scales"), ("age_years", 79.0), ("sex", "male"),
            ("operation", "none"), ("from_place", "emergency department"), ("indication", "blood in the urine"),
            ("fluid", "saline_0_9"), ("kidney", "chronic"), ("heart_failure", True),
            ("blood_thinners", "apixaban, last yesterday"), ("baseline_hb", 119.0), ("baseline_creatinine", 141.0),
        ),
        extras=(
            (0.0, _catheter(tip="straight", balloon_ml=20.0)),
            (0.05, _order(rate_low_ml_per_h=200.0, rate_high_ml_per_h=800.0, expected_urine="usual")),
            (on("1 12:30"), _drink(150)), (on("1 17:30"), _drink(200)),
            (on("2 13:42"), _drink(200)),
            (on("2 08:00"), _lab("creatinine", 148.0, "umol/L")), (on("2 08:01"), _lab("hb", 115.0, "g/L")),
        ),
        staff=((0, "L.W."), (on("1 19:00"), "J.P."), (on("2 07:00"), "L.W.")),
    )  # fmt: skip
    return Story(
        "forgotten_emptying", on.start, 52, scene,
        "The drainage bag was emptied and nobody wrote it down: the contents fall without a reason.\n"
        "Shows how the missing volume is asked about by time and size, and never explained away.",
    )  # fmt: skip


def whole_bags_two_lines() -> Story:
    """Two lines by turns; only bags hung and volumes emptied are charted."""
    on = _Clock(2026, 6, 9, 11, 20)
    rates = ((0, 900), (on("1 20:00"), 700), (on("2 08:00"), 500))
    scene = Scene(
        hours=on("2 20:05"),
        session="demo-1A",
        body=Body(weight_kg=91.0),
        bleeding=Bleeding(((0, 16), (6, 9), (14, 5), (30, 2))),
        rates=rates,
        lines=(Line("A", True), Line("B", False)),
        bags=Bags(over_label=0.04, over_sd=0.006),
        habits=_habits(rates, 1e9, irrigant="whole_bags", drainage="each_check"),
        opening=(
            ("patient", "P-0391"), ("bed", "1A"), ("weight_from", "stated"), ("age_years", 63.0), ("sex", "male"),
            ("operation", "enucleation of the prostate by laser"),
            ("operation_ended", on.start - timedelta(minutes=40)), ("from_place", "recovery"),
            ("indication", "after prostate surgery"), ("fluid", "saline_0_9"), ("kidney", "usual"),
            ("baseline_hb", 151.0), ("allergies", ["latex"]),
        ),
        extras=(
            (0.0, _catheter(french=24.0)),
            (0.05, _order(rate_low_ml_per_h=300.0, rate_high_ml_per_h=1000.0)),
            (on("1 18:30"), _drink(300)), (on("2 08:15"), _drink(250)),
            (on("2 09:00"), _lab("hb", 139.0, "g/L")),
            (on("2 15:00"), _note("Both lines traced from bag to catheter.")),
        ),
        staff=((0, "K.M."), (on("1 19:00"), "S.A."), (on("2 07:00"), "K.M."), (on("2 19:00"), "T.O.")),
    )  # fmt: skip
    return Story(
        "whole_bags_two_lines", on.start, 19, scene,
        "Two lines used by turns on a ward that charts whole bags and emptied volumes only.\n"
        "Shows how few closed rows that gives, and how wide the answer gets when every bag counts by its label.",
    )  # fmt: skip


def clock_goes_back() -> Story:
    """The night of 25 October 2026 in London has 25 hours: 01:00 to 02:00 comes twice."""
    on = _Clock(2026, 10, 24, 17, 15)
    rates = ((0, 600), (on("2 06:00"), 400))
    scene = Scene(
        hours=on("2 13:58"),
        session="demo-9",
        body=Body(weight_kg=73.0),
        bleeding=Bleeding(((0, 8), (6, 4), (20, 1.5))),
        rates=rates,
        bags=Bags(over_label=0.035, over_sd=0.006),
        habits=_habits(rates, plan=Plan(((on("2 12:45"), 15), (1e9, 180)), 60.0)),
        opening=(
            ("patient", "P-0420"), ("bed", "9"), ("weight_from", "scales"), ("age_years", 74.0), ("sex", "male"),
            ("operation", "resection of the prostate through the urethra"),
            ("operation_ended", on.start - timedelta(minutes=65)), ("from_place", "recovery"),
            ("indication", "after prostate surgery"), ("fluid", "saline_0_9"), ("kidney", "single"),
            ("can_say_pain", True), ("baseline_hb", 137.0),
        ),
        extras=(
            (0.0, _catheter()),
            (0.05, _order(rate_low_ml_per_h=200.0, rate_high_ml_per_h=1000.0, expected_urine="usual")),
            (on("2 00:30"), _note("The clock goes back at two. The hour from one to two comes twice tonight.")),
            (on("2 09:10"), _lab("hb", 126.0, "g/L")), (on("2 08:20"), _drink(200)),
            (on("2 13:56"), _note("Seen by physiotherapy.")),
        ),
        staff=((0, "R.D."), (on("1 19:00"), "J.P."), (on("2 07:00"), "L.W.")),
    )  # fmt: skip
    return Story(
        "clock_goes_back", on.start, 9, scene,
        "A night on which the clock goes back: 01:00 to 02:00 comes twice, the night shift has 13 hours.\n"
        "Shows that rows keep their length and no hour is counted twice; ends with a check that is late.",
    )  # fmt: skip


def heavy_bleeding() -> Story:
    """Red at two litres an hour, and darker still."""
    on = _Clock(2026, 7, 21, 19, 30)
    rates = ((0, 1200), (on("1 23:00"), 1500), (on("2 03:00"), 1800))
    scene = Scene(
        hours=on("2 08:10"),
        session="demo-12",
        body=Body(weight_kg=80.0, spasms_per_h=0.15),
        bleeding=Bleeding(((0, 30), (3, 34), (6, 45), (9, 60), (11, 110), (13, 150))),
        rates=rates,
        lines=(Line("A", True), Line("B", False)),
        bags=Bags(label_ml=5000.0, over_label=0.03, over_sd=0.006, tare_g=115.0),
        habits=_habits(rates, 30.0, obs_every_h=1.0),
        drainage=Drainage(capacity_ml=4000.0),
        opening=(
            ("patient", "P-0396"), ("bed", "12"), ("weight_from", "stated"), ("age_years", 68.0), ("sex", "male"),
            ("operation", "open removal of prostate tissue"), ("operation_ended", on.start - timedelta(minutes=100)),
            ("from_place", "recovery"), ("indication", "bleeding after prostate surgery"), ("fluid", "saline_0_9"),
            ("kidney", "usual"), ("blood_thinners", "heparin at prophylactic dose"), ("baseline_hb", 133.0),
            ("baseline_na", 140.0),
        ),
        extras=(
            (0.0, _catheter(french=24.0, balloon_ml=50.0)),
            (0.05, _order(rate_low_ml_per_h=600.0, rate_high_ml_per_h=2000.0, target_grade="pink")),
            (0.1, {"event": "traction_on", "until": (on.start + timedelta(hours=6)).isoformat()}),
            (on("2 01:30"), {"event": "traction_off"}),
            (on("1 23:20"), _lab("hb", 119.0, "g/L")), (on("2 04:10"), _lab("hb", 104.0, "g/L")),
            (on("2 04:11"), _lab("na", 138.0, "mmol/L")),
            (on("2 04:20"), {"event": "called", "whom": "urology on call", "how": "phone",
                             "about": "red at 1,800 mL/h, haemoglobin falling",
                             "told": "bed 12, red since arrival, clots, haemoglobin 104 from 133, draining steadily",
                             "answer": "cross-match two units, repeat at seven, ring if dark red", "read_back": True}),
            (on("2 07:35"), _lab("hb", 92.0, "g/L")),
        ),
        staff=((0, "T.O."), (on("2 07:00"), "K.M.")),
    )  # fmt: skip
    return Story(
        "heavy_bleeding", on.start, 12, scene,
        "Heavy bleeding at a high rate: red stays red although the inflow goes up, so the loss goes up with it.\n"
        "Shows why a colour means nothing without its rate; ends dark red, with the haemoglobin falling.",
    )  # fmt: skip


def low_urine_hidden() -> Story:
    """Fifteen litres a day run out, and yet the kidneys make next to nothing."""
    on = _Clock(2026, 2, 10, 18, 45)
    rates = ((0, 600),)
    scene = Scene(
        hours=on("2 22:10"),
        session="demo-2D",
        body=Body(weight_kg=92.0, urine_ml_per_kg_h=0.27, urine_log_sd=0.12),
        bleeding=Bleeding(((0, 3), (12, 2), (24, 1))),
        rates=rates,
        bags=Bags(over_label=0.04, over_sd=0.006),
        habits=_habits(rates, irrigant="weighed", measures="scale", scale=Reader(5.0, 2.0)),
        opening=(
            ("patient", "P-0379"), ("bed", "2D"), ("weight_from", "scales"), ("age_years", 77.0), ("sex", "male"),
            ("operation", "none"), ("from_place", "emergency department"), ("indication", "clots in the bladder"),
            ("fluid", "saline_0_9"), ("kidney", "chronic"), ("heart_failure", True), ("baseline_creatinine", 168.0),
            ("baseline_hb", 112.0), ("baseline_na", 136.0),
        ),
        extras=(
            (0.0, _catheter(tip="straight", balloon_ml=30.0)),
            (0.05, _order(rate_low_ml_per_h=300.0, rate_high_ml_per_h=800.0, expected_urine="usual")),
            (on("2 07:50"), _lab("creatinine", 214.0, "umol/L")), (on("2 08:15"), _drink(150)),
            (on("2 12:30"), _drink(200)), (on("2 10:00"), _drink(500.0, route="infusion")),
            (on("2 18:20"), _lab("creatinine", 251.0, "umol/L")),
        ),
        staff=((0, "S.A."), (on("1 19:00"), "J.P."), (on("2 07:00"), "R.D."), (on("2 19:00"), "J.P.")),
    )  # fmt: skip
    return Story(
        "low_urine_hidden", on.start, 27, scene,
        "Some 15 litres a day run out and look like plenty, while the kidneys make a quarter of what they should.\n"
        "Shows net urine with its doubt on a ward that weighs: low urine can be told, gross drainage hides it.",
    )  # fmt: skip


STORIES: tuple[Callable[[], Story], ...] = (
    smooth_wean,
    clot_block,
    forgotten_emptying,
    whole_bags_two_lines,
    clock_goes_back,
    heavy_bleeding,
    low_urine_hidden,
)
