"""The answers that key fields offer; keys and words come from the catalogue, so that a ward may change both."""

from __future__ import annotations

from cbi_monitor.model.ward import EffluentScale
from cbi_monitor.screens.fields import Choice
from cbi_monitor.wording import say


def choices(field: str, *values: str) -> tuple[Choice, ...]:
    """The answers of a field: ``choice-<field>-<value>`` is the word, ``…-key`` the key."""
    made = []
    for value in values:
        name = f"choice-{field}-{value.replace('_', '-')}"
        made.append(Choice(say(f"{name}-key"), value, say(name)))
    return tuple(made)


def running() -> tuple[Choice, ...]:
    """How it runs, as seen at the drip."""
    return choices("running", "steady", "slow", "drops_only", "none")


def comfort() -> tuple[Choice, ...]:
    """How the patient is."""
    return choices("comfort", "comfortable", "not_comfortable", "cannot_say")


def clots() -> tuple[Choice, ...]:
    """Clots, apart from colour."""
    return choices("clots", "none", "specks", "small", "large")


def colours(scale: EffluentScale) -> tuple[Choice, ...]:
    """The ward's own scale, 1 the palest."""
    return tuple(
        Choice(str(n), grade.key, grade.word, grade.swatch) for n, grade in enumerate(scale.grades, start=1)
    )


def yes_no(field: str) -> tuple[Choice, ...]:
    """Yes or no."""
    return (
        Choice(say("choice-yes-key"), True, say(f"choice-{field}-yes")),
        Choice(say("choice-no-key"), False, say(f"choice-{field}-no")),
    )


def sizes(litres: tuple[float, ...]) -> tuple[Choice, ...]:
    """Bag sizes on the shelf, by their litres."""
    made = []
    for ml in litres:
        text = f"{ml / 1000:g}"
        made.append(Choice(text[0], float(ml), say("choice-size", litres=text)))
    return tuple(made)


def lines(names: tuple[str, ...]) -> tuple[Choice, ...]:
    """Irrigant lines by their letter."""
    return tuple(Choice(name.lower()[0], name, say("choice-line", line=name)) for name in names)
