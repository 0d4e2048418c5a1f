"""The short list of questions: what a person knows that no probe reads."""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.floorplan import BUILD_UPS, MEMBRANES

NOT_KNOWN = "not-known"
"""Always allowed as an answer."""


@dataclass(frozen=True, slots=True)
class Question:
    """A question.

    Attributes
    ----------
    key : str
        Key in ``answers.toml``.
    words : str
    kind : str
        ``choice``, ``several`` (a list of choices), ``date``, ``date-or-none`` (a day, or
        ``none``), ``hours`` or ``text``.
    choices : tuple of str
    divides : tuple of str
        Causes the answer helps to tell apart.
    room_field : str
        Field of the room in the survey that answers it already, or "".
    """

    key: str
    words: str
    kind: str
    choices: tuple[str, ...] = ()
    divides: tuple[str, ...] = ()
    room_field: str = ""

    @property
    def allowed(self) -> str:
        """What may be answered, in words."""
        stated = {
            "choice": ", ".join(self.choices),
            "several": f"a list of {', '.join(self.choices)}",
            "date": "a day such as 2026-03-14",
            "date-or-none": "a day such as 2026-03-14, or none",
            "hours": "a number of hours, 0 to 10000",
            "text": "text in quotes",
        }[self.kind]
        return f"{stated}, or {NOT_KNOWN}"


_WATER_BELOW = ("construction-water", "ground")
_EVENT = ("flood", "surface-water", "insulation")

_QUESTIONS = (
    Question("placed", "On which day was the layer placed?", "date", (), _WATER_BELOW, "placed"),
    Question("covered", "On which day was it covered?", "date", (), _WATER_BELOW, "covered"),
    Question(
        "first_fault",
        "On which day did the covering first show a fault?",
        "date",
        (),
        ("construction-water", "adhesive", "flood"),
        "first_fault",
    ),
    Question(
        "membrane",
        "What is known of a membrane below?",
        "choice",
        MEMBRANES,
        _WATER_BELOW,
        "membrane",
    ),
    Question(
        "build_up",
        "What is the floor built of?",
        "choice",
        BUILD_UPS,
        ("insulation", "ground"),
        "build_up",
    ),
    Question(
        "pipes",
        "Are there pipes in or below the floor here?",
        "choice",
        ("none", "drawn", "likely"),
        ("pressure-pipe", "drain"),
    ),
    Question(
        "pressure_test",
        "Were the pipes pressure-tested, or the meter watched with all taps shut?",
        "choice",
        ("held", "fell", "none"),
        ("pressure-pipe", "drain"),
    ),
    Question(
        "pressure_test_hours",
        "For how many hours?",
        "hours",
        (),
        ("pressure-pipe",),
    ),
    Question(
        "leak_survey",
        "Did anyone search for a leak, with dye, camera, gas or listening?",
        "choice",
        ("found-in-pipe", "found-in-drain", "nothing-found", "none"),
        ("pressure-pipe", "drain"),
    ),
    Question(
        "flood",
        "Was there a flood, a burst, or rain while it was built? On which day?",
        "date-or-none",
        (),
        _EVENT,
    ),
    Question(
        "heating",
        "Was heating, cooling or a shut-down changed before the fault?",
        "choice",
        ("no-heating", "steady", "changed", "shut-down"),
        ("summer-reversal", "condensation"),
    ),
    Question(
        "outside_ground",
        "How does the ground outside lie to the floor?",
        "choice",
        ("above", "level", "below"),
        ("wall", "ground"),
    ),
    Question(
        "cleaning",
        "How is the floor cleaned?",
        "choice",
        ("dry", "damp", "flooded"),
        ("surface-water", "condensation"),
    ),
    Question(
        "seen",
        "What was seen or smelt?",
        "several",
        (
            "liquid",
            "salts",
            "smell",
            "mould",
            "blisters",
            "under-mats",
            "at-joints",
            "elsewhere-too",
            "nothing",
        ),
        ("ground", "salts", "osmosis", "surface-water", "other"),
    ),
    Question(
        "adhesive",
        "Does the fault follow a batch of adhesive or compound, or a short waiting time?",
        "choice",
        ("batch-change", "short-wait", "no"),
        ("adhesive",),
    ),
    Question(
        "taped_sheet",
        "A sheet of metal or film taped to the bare floor for a day: wet on which side?",
        "choice",
        ("wet-above", "wet-below", "dry", "not-done"),
        ("condensation", "ground", "construction-water"),
    ),
    Question(
        "insulation",
        "Was the insulation below opened and looked at?",
        "choice",
        ("wet", "dry", "not-opened"),
        ("insulation",),
    ),
    Question(
        "opening",
        "Was the floor opened down to the membrane at the wet place, and what was found?",
        "choice",
        ("membrane-whole", "membrane-damaged", "no-membrane", "not-opened"),
        ("ground",),
    ),
    Question(
        "wall_profile",
        "Was the moisture read up the wall at the wet place?",
        "choice",
        ("wet-wall", "dry-wall", "not-done"),
        ("wall",),
    ),
    Question(
        "drain_test",
        "Was the drain plugged, filled and its level watched?",
        "choice",
        ("held", "fell", "not-done"),
        ("drain",),
    ),
    Question(
        "dry_spell",
        "Was the floor kept dry for two weeks, and did the readings near the top fall?",
        "choice",
        ("fell", "did-not-fall", "not-done"),
        ("surface-water",),
    ),
    Question(
        "repaired",
        "Was anything stopped or repaired between the visits? On which day?",
        "date-or-none",
        (),
        ("pressure-pipe", "drain", "surface-water"),
    ),
    Question("repaired_what", "What was stopped or repaired?", "text"),
)

QUESTIONS = {question.key: question for question in _QUESTIONS}
"""The questions by key, in the order they are asked."""
