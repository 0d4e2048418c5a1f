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
