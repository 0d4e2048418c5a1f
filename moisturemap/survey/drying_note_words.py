"""What people's notes say of how a floor dries: water, machines taken away, surfaces wiped.

Words of English, German and French as they are commonly written (common practice, no single
source). A note is never taken for a measurement.
"""

from __future__ import annotations

import re

from moisturemap.survey.note_words import names_water_event

_MACHINE = (
    r"(?:machines?|dryers?|driers?|dehumidifiers?|air ?movers?|fans?|blowers?|equipment|kit|heating"
    r"|heaters?|heat|geräte?n?|\w*trockner\w*|lüfter|ventilator\w*|gebläse|heizung|heizlüfter"
    r"|appareils?|déshumidificateurs?|chauffage|ventilateurs?)"
)
_GONE = (
    r"(?:taken (?:away|out|off|down)|took(?! (?:\w+ )?(?:reading|photo|measure))"
    r"|removed|collected|picked up|gone|(?:switched|turned) off"
    r"|shut (?:off|down)|unplugged|stopped|out of order"
    r"|off(?! (?:the |a )?(?:wall|floor|corner|door))|broken|broke|failed|tripped|not running"
    r"|stood still|stolen|abgebaut|abgeholt|entfernt|weggenommen|weg|aus|ausgeschaltet"
    r"|abgeschaltet|abgestellt|ausgefallen|defekt|enlevée?s?|retirée?s?|arrêtée?s?|éteinte?s?"
    r"|coupée?s?|en panne)\b"
)
_CHANGED = re.compile(
    rf"\b{_MACHINE}\b[^.;]{{0,40}}\b{_GONE}|\b{_GONE}[^.;]{{0,25}}\b{_MACHINE}\b"
    r"|\bwindows? (?:\w+ )?(?:stay|stays|left|kept|remain|remains) (?:\w+ )?open"
    r"|\bfenster (?:\w+ )?(?:bleib\w*|steh\w*) (?:\w+ )?offen|\bpower (?:cut|failure|was off)"
    r"|\bstromausfall\w*|\bpanne de courant",
    re.IGNORECASE,
)
_NOT_CHANGED = re.compile(
    rf"\b(?:not|never|nicht|pas|none|kein\w*|no) (?:yet |been |be |noch |\w+ )?{_GONE}"
    rf"|\b{_GONE}[^.;]{{0,12}}\b(?:during|for|while|whilst|während|zum)\b[^.;]{{0,20}}"
    r"(?:read|scan|measur|messen|messung|survey)\w*",
    re.IGNORECASE,
)
_TREATED = re.compile(
    r"\b(?:wip(?:ed|ing)|towel\w*|heat ?guns?|hot ?air|hair ?dryer|blow[- ]?dr\w+|blown dry"
    r"|torch(?:ed)?|(?:pre-?)?warmed|pre-?heated|heated up|dried (?:off|up|with|by hand|before)"
    r"|(?:surface|floor|spot|place) (?:was |were )?(?:heated|dried)|mopp\w*|vacuumed up"
    r"|\w*gewischt|abgetrocknet|heißluft\w*|f[öo]e?h?n(?:t|er)?\b|geföhnt|\w*wärmt|essuy\w*"
    r"|séché\w*|réchauff\w*|décapeur)",
    re.IGNORECASE,
)
_CLEANED = re.compile(
    r"\bwiped (?:clean|free of dust|of dust|the dust|dust)\b|\b(?:dust|dirt)\w* (?:was |were )?"
    r"wiped\w*|\bstaub \w*gewischt|\b(?:not|never|nicht|pas|no) (?:\w+ )?(?:wiped|warmed|heated"
    r"|dried|mopped|\w*gewischt|\w*wärmt|essuy\w*|séché\w*|heat ?gun)",
    re.IGNORECASE,
)
_CARRIED_OFF = re.compile(
    r"\bwater (?:from|in|out of) (?:the )?(?:\w+ )?(?:dehumidifiers?|machines?|dryers?|tanks?"
    r"|buckets? of (?:the )?(?:dehumidifiers?|dryers?)|\w*trockner\w*|d\d+)\b",
    re.IGNORECASE,
)
_ENDED = re.compile(
    r"\b(?:leak\w*|burst\w*|drip\w*|pipe|flood\w*|rohrbruch\w*|leck\w*|fuite\w*)\b[^.;]{0,30}"
    r"\b(?:(?<!not )(?<!never )(?:repaired|fixed|mended|cured|sealed)|(?<!nicht )(?:behoben"
    r"|repariert|abgedichtet)|(?<!pas )réparée?)\b",
    re.IGNORECASE,
)
_STILL = re.compile(
    r"\b(?:still|again|yet|noch|wieder|weiter\w*|immer|encore|toujours)\b", re.IGNORECASE
)


def note_kind(note: str) -> str:
    """Return what a note tells of: "water", "changed", "treated", or "".

    Examples
    --------
    >>> note_kind("ceiling still dripping"), note_kind("fans taken away"), note_kind("no leak")
    ('water', 'changed', '')
    """
    wet = _CARRIED_OFF.sub(" ", note)
    if not _STILL.search(note):
        wet = _ENDED.sub(" ", wet)
    if _TREATED.search(_CLEANED.sub(" ", note)):
        return "treated"
    if names_water_event(wet):
        return "water"
    return "changed" if _CHANGED.search(_NOT_CHANGED.sub(" ", note)) else ""
