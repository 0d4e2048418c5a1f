"""How many holes: the counting rules the verdict uses too, by the key a user chooses."""

from __future__ import annotations

from moisturemap.errors import OptionError
from moisturemap.survey import CountRule, packaged_counts

COUNT_RULES = {rule.id: rule for rule in packaged_counts() if not rule.per_room}
"""Counting rules by key."""

DEFAULT_RULE = "f2170-m2"


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
        raise OptionError("unknown counting rule", value=rule, allowed=", ".join(COUNT_RULES))
    return COUNT_RULES[rule]


def stricter(rule: CountRule, area_m2: float) -> CountRule:
    """Return a rule or its twin in the other unit of area, whichever asks for more.

    Standards pair 1000 ft2 with 100 m2; a verdict takes the stricter, and a plan must not leave a
    hole to be drilled on another day.
    """
    twins = [one for one in COUNT_RULES.values() if one.document == rule.document]
    twins = [one for one in twins if one.methods == rule.methods and one.units != rule.units]
    return max([rule, *twins], key=lambda one: one.count(area_m2))
