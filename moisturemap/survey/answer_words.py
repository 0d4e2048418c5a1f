"""Answers in columns of one's own that say a test is void: "valid: no", "result: FAIL".

Words of English, German and French as they are commonly written (common practice, no single
source).
"""

from __future__ import annotations

import re

_FAILED = re.compile(
    r"\W*(?:fail(?:ed|s|ure)?|void|invalid|nok|not ok|n\.?o\.?k|rejected|bad|poor|suspect|wrong"
    r"|aborted"
    r"|abandoned|nicht (?:i\.? ?o\.?|bestanden|gültig)|ungültig|durchgefallen|schlecht|abgebrochen"
    r"|refusé|mauvais|échec|non conforme|pas bon)\W*",
    re.IGNORECASE,
)
_PASSED = re.compile(
    r"\W*(?:ok(?:ay)?|good|fine|pass(?:ed|es)?|valid|accepted|approved|done|completed?|i\.? ?o\.?"
    r"|gut|gültig|bestanden|erfüllt|erledigt|bon|valable|conforme|✓|✔)\W*",
    re.IGNORECASE,
)
_UNKNOWN = re.compile(
    r"\W*(?:n\.? ?/ ?a\.?|n\.a\.|unknown|unbekannt|inconnu|✓|✔|✗|✘)\W*", re.IGNORECASE
)
_TURNED = re.compile(
    r"\b(?:no|not|non|without|free|off|nicht|kein\w*|ohne|frei|aus|pas|sans)\b", re.IGNORECASE
)
"""Words that turn round what a heading asks."""

_NO = re.compile(
    r"\W*(?:no|n|none|not?|nil|never|false|0|nein|keine?r?|nie|falsch|non|aucune?|pas)\W*",
    re.IGNORECASE,
)
_YES = re.compile(r"\W*(?:yes|y|true|1|x|ja|j|oui|o)\W*", re.IGNORECASE)
_WANTED = re.compile(
    r"valid|\bok\b|pass|accept|stable|steady|settled|equilib|liner|lined|sleeve|\bseal|\bcap\b|plug"
    r"|calibrat|check|clean|\bdry\b|tight|complete|usable|reliable|good|conform|gültig|bestanden"
    r"|stabil|ausgeglichen|hülse|dicht|kappe|kalibriert|geprüft|sauber|trocken|brauchbar|valable"
    r"|accepté|équilib|douille|étanche|bouchon|étalonné|vérifié|propre|sec\b",
    re.IGNORECASE,
)
"""Headings of what a test that counts has."""

_UNWANTED = re.compile(
    r"water|leak|\bwet|damp|flood|condens|dripp|mould|crack|rising|disturb|moved|damage|fault|heat"
    r"|\bufh|dehumid|\bfan|blower|wasser|leck|nass|feucht|kondens|schimmel|riss|steigend|gestört"
    r"|defekt|heiz|fbh|trockner|lüfter|\beau|fuite|humid|mouill|moisi|fissure|dérang|chauff|ventil",
    re.IGNORECASE,
)
"""Headings of what spoils a test."""

_STATES = (
    (
        r"seal|cap\b|lid|plug|window|door|deckel|kappe|fenster|tür|fenêtre|porte",
        r"open|offen|ouvert\w*",
    ),
    (
        r"heat|\bufh|heiz|fbh|chauff|dehumid|\bfan|blower|trockner|ventil",
        r"on|running|an|ein|läuft|marche",
    ),
    (
        r"drill|core|cut|method|bohr|forage|with",
        r"(?:with )?(?:wet|water|nass|wasser|eau)(?: \w+)?",
    ),
    (
        r"hole|surface|dust|loch|oberfläche|staub|trou",
        r"(?:wet|damp|nass|feucht|mouillé\w*|humide)",
    ),
)


def answer_spoils(heading: str, text: str) -> bool:
    """Whether the cell of a column of one's own says that the test in its row is void.

    Parameters
    ----------
    heading, text : str

    Examples
    --------
    >>> [answer_spoils(*one) for one in (("valid", "no"), ("outcome", "FAIL"), ("leak", "no"))]
    [True, True, False]
    >>> [answer_spoils(*one) for one in (("drilled with", "water"), ("bay", "no"))]
    [True, False]
    """
    if _FAILED.fullmatch(text):
        return not _UNWANTED.search(heading)
    if _NO.fullmatch(text):
        return bool(_WANTED.search(heading)) and not _UNWANTED.search(heading)
    if _YES.fullmatch(text):
        return bool(_UNWANTED.search(heading)) and not _WANTED.search(heading)
    return any(
        re.search(of, heading, re.IGNORECASE)
        and re.fullmatch(rf"\W*(?:{says})\W*", text, re.IGNORECASE)
        for of, says in _STATES
    )


def answer_denies(heading: str, text: str) -> bool:
    """Whether the cell of a column of one's own denies what would spoil the test.

    Examples
    --------
    >>> [answer_denies(*one) for one in (("leak", "no"), ("valid", "no"), ("leak", "yes"))]
    [True, False, False]
    """
    return bool(_NO.fullmatch(text) and _UNWANTED.search(heading) and not _WANTED.search(heading))


def answer_confirms(heading: str, text: str) -> bool:
    """Whether the cell of a column of one's own says that the test has what one that counts has.

    Examples
    --------
    >>> [answer_confirms(*one) for one in (("valid", "yes"), ("leak", "yes"), ("status", "OK"))]
    [True, False, True]
    """
    unwanted = _UNWANTED.search(heading) or _TURNED.search(heading)
    if _YES.fullmatch(text):
        return bool(_WANTED.search(heading)) and not unwanted
    return bool(_PASSED.fullmatch(text)) and not unwanted


def is_answer(text: str) -> bool:
    """Whether a cell is no more than a yes or a no, which says nothing without its heading.

    Examples
    --------
    >>> [is_answer(one) for one in ("no", "x", "none", "Weavers", "3.5")]
    [True, True, True, False, False]
    """
    return bool(_YES.fullmatch(text) or _NO.fullmatch(text) or _UNKNOWN.fullmatch(text))
