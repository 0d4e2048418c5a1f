"""How many holes: the counting rules the verdict uses too, by the key a user chooses."""

from __future__ import annotations

from moisturemap.errors import OptionError
from moisturemap.survey import CountRule, Survey, packaged_counts

COUNT_RULES = {rule.id: rule for rule in packaged_counts() if not rule.per_room}
"""Counting rules by key."""

BY_LIMIT = "by-limit"
"""Count by the rule of the method that the limit of the job is stated in."""

WITHOUT_LIMIT = COUNT_RULES["f2170-m2"]
"""As many tests are proposed while no limit names a method, and at least as many under any rule:
fewer say too little of how scan and tests go together (our choice)."""


def count_rule(rule: str | CountRule) -> CountRule:
    """Return a rule by its key, or the rule itself.

    Parameters
    ----------
    rule : str or CountRule
        Key or rule.

    Raises
    ------
    OptionError
        When no rule has that key.
    """
    if isinstance(rule, CountRule):
        return rule
    if rule not in COUNT_RULES:
        allowed = ", ".join((BY_LIMIT, *COUNT_RULES))
        raise OptionError("unknown counting rule", value=rule, allowed=allowed)
    return COUNT_RULES[rule]


def counted(rule: str | CountRule, methods: frozenset[str], area_m2: float) -> tuple[int, str]:
    """Return how many tests a floor area asks for, and the sentence that explains it.

    Parameters
    ----------
    rule : str or CountRule
        Key or rule; ``by-limit`` takes that of the methods.
    methods : frozenset of str
        Methods of the limits that the job states.
    area_m2 : float
        Floor area [m2].
    """
    if rule != BY_LIMIT:
        chosen = count_rule(rule)
        return chosen.count(area_m2), chosen.sentence(area_m2)
    least = stricter(WITHOUT_LIMIT, area_m2)
    asked = [one for one in COUNT_RULES.values() if methods & set(one.methods)]
    count = least.count(area_m2)
    if not asked:
        return count, (
            f"{count} tests for {area_m2:.1f} m2, our choice: {least.words}. No limit is stated; "
            "its method will name the document to count by."
        )
    most = max(asked, key=lambda one: one.count(area_m2))
    words = most.sentence(area_m2)
    if count > most.count(area_m2):
        words += f" Raised to {count} so that tests and scan can be related (our choice)."
    return max(count, most.count(area_m2)), words


def methods_of(survey: Survey) -> frozenset[str]:
    """Return the methods of the limits that a survey states, pin tests of timber left out."""
    limits = (survey.limit, *survey.room_limits.values())
    return frozenset(one.method for one in limits if one is not None) - {"pin"}


def stricter(rule: CountRule, area_m2: float) -> CountRule:
    """Return a rule or its twin in the other unit of area, whichever asks for more.

    Standards pair 1000 ft2 with 100 m2; a verdict takes the stricter, and a plan must not leave a
    hole to be drilled on another day.
    """
    twins = [one for one in COUNT_RULES.values() if one.document == rule.document]
    twins = [one for one in twins if one.methods == rule.methods and one.units != rule.units]
    return max([rule, *twins], key=lambda one: one.count(area_m2))
