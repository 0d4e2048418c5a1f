"""The desk of a process that computes: the data of one question, and what it has at hand."""

from __future__ import annotations

import pickle
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from moisturemap.errors import NotEnoughData
from moisturemap.web.work.question import DataKeys, Question

if TYPE_CHECKING:
    from moisturemap.acceptance import Decision
    from moisturemap.bundles import Overrides, Study, VisitComparison
    from moisturemap.survey import Survey

Say = Callable[[str, float], None]

KEPT = 24
"""Results kept at hand; a study of 10,000 readings takes some 30 MB (our choice)."""

MAPPED = 0.9
"""Share of the whole at which the holes are planned; it only moves the bar."""


NEARLY = 0.98
"""Most of the whole that is told as done while the answer has not come."""


class Memo:
    """Results by key; those asked for longest ago make room."""

    def __init__(self, most: int = KEPT) -> None:
        self._kept: OrderedDict[tuple[Any, ...], Any] = OrderedDict()
        self._most = most

    def get(self, key: tuple[Any, ...], compute: Callable[[], Any]) -> Any:
        """Return what is kept under a key, else compute and keep it."""
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key]
        result = compute()
        self.put(key, result)
        return result

    def put(self, key: tuple[Any, ...], result: Any) -> None:
        """Keep a result under a key."""
        self._kept[key] = result
        self._kept.move_to_end(key)
        while len(self._kept) > self._most:
            self._kept.popitem(last=False)

    def look(self, key: tuple[Any, ...]) -> Any:
        """Return what is kept under a key; None when nothing is."""
        return self._kept.get(key)

    def items(self) -> list[tuple[tuple[Any, ...], Any]]:
        """Return all that is kept, by key."""
        return list(self._kept.items())


class Desk:
    """The data of one question; studies are made when a task asks for them."""

    def __init__(self, question: Question, memo: Memo, say: Say) -> None:
        self.question = question
        self.memo = memo
        self._say = say

    def say(self, phrase: str, fraction: float) -> None:
        """Tell how far it is; the end of a part of the work is not that of the whole."""
        self._say("putting it together" if fraction >= 1.0 else phrase, min(fraction, NEARLY))

    @property
    def keys(self) -> DataKeys:
        """Which data the question is about."""
        assert self.question.keys is not None
        return self.question.keys

    @property
    def settings(self) -> dict[str, Any]:
        """Settings of the project."""
        return dict(self.question.settings)

    def kept(self, kind: tuple[Any, ...], compute: Callable[[], Any]) -> Any:
        """Return a result of this job, computed once; ``kind`` must name the data it is of."""
        return self.memo.get((self.question.job, *kind), compute)

    @cached_property
    def survey(self) -> Survey:
        """The survey of the question."""
        survey: Survey = self.kept(
            ("survey", self.keys.head), lambda: pickle.loads(self.question.survey)
        )
        return survey

    @cached_property
    def overrides(self) -> Overrides:
        """What people decided about anomalies and holes."""
        from moisturemap.bundles import overrides_of

        return overrides_of(self.settings)

    def scanned(self, visit: str | None) -> Study:
        """Return the study of a visit before anybody decided anything, its holes not planned."""
        from moisturemap.workflow.study import study

        chosen = self.survey.scanned_visit(visit).id
        found: Study = self.kept(
            ("study", self.keys.scan, chosen),
            lambda: study(self.survey, visit=chosen, with_holes=False, progress=self.say),
        )
        return found

    def mapped(self, visit: str | None, overrides: Overrides | None = None) -> Study:
        """Return the map of a visit with decisions, by default those that are kept; no holes."""
        from moisturemap.workflow.overridden_study import with_decided_things

        decisions = overrides or self.overrides
        chosen = self.survey.scanned_visit(visit).id

        def decide() -> Study:
            return with_decided_things(self.scanned(chosen), decisions)

        key = self._mapped_key(chosen, decisions)
        mapped: Study = self.kept(key, decide)
        if overrides is None:
            self.memo.put((self.question.job, "latest map", chosen), (self.keys, key[-1], mapped))
        # Tests and issued holes may be newer than the map, which does not depend on them.
        return replace(mapped, survey=self.survey)

    def _mapped_key(self, visit: str, decisions: Overrides) -> tuple[Any, ...]:
        return "mapped", visit, self.keys.scan, repr(decisions.anomalies)

    def corrected(self, visit: str | None) -> Study | None:
        """Return the latest map of a visit with the few readings that changed since.

        None where that is the map itself, or when other things changed or nothing was mapped yet.
        """
        from moisturemap.zones import map_corrected

        chosen = self.survey.scanned_visit(visit).id
        latest = self.memo.look((self.question.job, "latest map", chosen))
        if latest is None:
            return None
        keys, decided, mapped = latest
        same = keys.frame == self.keys.frame and decided == repr(self.overrides.anomalies)
        if not same or keys.scan == self.keys.scan:
            return None
        made: Study | None = self.kept(
            ("corrected", self.keys.scan, keys.scan, chosen, decided),
            lambda: map_corrected(mapped, self.survey),
        )
        return None if made is None else replace(made, survey=self.survey)

    def study(self, visit: str | None, overrides: Overrides | None = None) -> Study:
        """Return the study of a visit with decisions, by default those that are kept."""
        from moisturemap.workflow.overridden_study import with_wished_holes

        decisions = overrides or self.overrides
        mapped = self.mapped(visit, overrides)
        decided: Study = self.kept(
            ("decided", self.keys.everything, mapped.visit.id, repr(decisions)),
            lambda: with_wished_holes(mapped, decisions, progress=self.planning),
        )
        return replace(decided, survey=self.survey)

    def planning(self, phrase: str, fraction: float) -> None:
        """Tell of holes being planned, towards the end of the whole."""
        self.say(phrase, MAPPED + (1.0 - MAPPED) * fraction)

    def comparison(self, visit: str | None) -> VisitComparison:
        """Return the visits up to one, compared."""
        from moisturemap.workflow.drying import compare_visits

        latest = self.survey.scanned_visit(visit).id
        ids = [one.id for one in self.survey.visits]
        chosen = ids[: ids.index(latest) + 1]
        at_hand = self.memo.look((self.question.job, *self._mapped_key(latest, self.overrides)))

        def study() -> Study:
            return self.mapped(latest)

        compared: VisitComparison = self.kept(
            ("drying", self.keys.everything, latest),
            lambda: compare_visits(
                self.survey,
                visits=chosen,
                study=study if at_hand is None else study(),
                progress=self.say,
            ),
        )
        return compared

    def decision(self, visit: str | None) -> tuple[Decision, str]:
        """Return the decision, and why the scan could not be used with it, if so."""
        from moisturemap.acceptance import decide

        study, scan = None, ""
        try:
            study = self.study(visit)
        except NotEnoughData as few:
            scan = str(few)
        self.say("judging the tests", 0.97)
        found: Decision = self.kept(
            ("decision", self.keys.everything, visit), lambda: decide(self.survey, study)
        )
        return found, scan
