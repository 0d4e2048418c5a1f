"""Words that stand where a name, a number or a document is asked for and say that there is none."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib.resources import files

_NOTHING = re.compile(
    r"[\W_]*(?:(?:[a-z]|no|self|nobody|\d|x+|none|nil|null|n\W?a\W?|nothing"
    r"|no (?:document|sheet|source|certificate)"
    r"|unknown|(?:not|un)(?: yet)? ?(?:known|stated|available|given|found|named)|internet|web"
    r"|see (?:above|below|file|there|office|site)|(?:the )?usual|as (?:usual|always|before|ever)"
    r"|keine?(?:s|r)?|unbekannt|nicht (?:bekannt|vorhanden|angegeben)|ohne|offen|wie (?:immer"
    r"|üblich)"
    r"|aucune?|néant|inconnue?s?|sans|non (?:connue?|précisée?)|comme d'habitude)[\W_]*)?",
    re.IGNORECASE,
)
_TO_COME = re.compile(
    r"\bt\.?b\.?[acd]\b|\bapplied for\b|\bnot (?:required|needed)\b"
    r"|\bto be (?:confirmed|advised|agreed|decided|named|sent|supplied)"
    r"|\bto follow\b"
    r"|\bawait\w*|\bpending\b|\boutstanding\b|\brequested\b|\basked for\b|\bnot yet\b|\bon order\b"
    r"|\b(?:ai|chat|ki)[ -]?(?:bot|assistent|assistant|answer|search|summary)\b"
    r"|\b(?:asked|by|from|per) (?:an |the )?ai\b|\bforum\b|\bvideo\b"
    r"|\bas (?:on )?(?:the )?(?:last|previous|other) (?:job|site|time)\b|\bguess\w*|\bassum\w*"
    r"|\bfrom memory\b|\bwill be\b|\bfolgt\b|\bnachgereicht\b|\bangefragt\b|\bangenommen\b"
    r"|\bausstehend\b"
    r"|\bnoch (?:nicht|offen)\b|\bwie (?:beim )?letzte\w*|\bgeschätzt\b|\bà (?:confirmer|venir"
    r"|fournir)\b"
    r"|\ben attente\b|\bsupposé\w*|\bdemandé\w*",
    re.IGNORECASE,
)
_LAPSED = re.compile(
    r"\bexpired\b|\blapsed\b|\boverdue\b|\bout of date\b|\blost\b|\bmissing\b|\bwithdrawn\b"
    r"|\bsuperseded\b|\bdraft\b|\bobsolete\b"
    r"|\babgelaufen\b|\bentwurf\b|\bveraltet\b|\bzurückgezogen\b"
    r"|\bverloren\b|\bfehlt\b|\bexpirée?\b|\bpérimée?\b|\bperdue?\b",
    re.IGNORECASE,
)


def names_nothing(text: str) -> bool:
    """Whether words name no document: a dash, "n/a", "to be confirmed", "as last job".

    Parameters
    ----------
    text : str

    Examples
    --------
    >>> [names_nothing(one) for one in ("?", "TBC", "awaiting reply", "data sheet 12", "BS 8203")]
    [True, True, True, False, False]
    """
    return bool(_NOTHING.fullmatch(text.strip()) or _TO_COME.search(text))


_CONDITION = re.compile(
    r"\bonly\b|\bprovided\b|\bunless\b|\bexcept\w*\b|\bsubject to\b|\bwhere\b|\bif\b|\bwhen\b"
    r"|\bwith(?:out)? (?:an? |the )?(?:\w+ )?(?:dpm|primer|barrier|membrane|underlay\w*|sealer)\b"
    r"|\b(?:over|under|above) (?:an? |the )?(?:dpm|primer|barrier|membrane|underlay\w*)\b"
    r"|\bnur\b|\bsofern\b|\bwenn\b|\bfalls\b|\baußer\b|\bausser\b|\bvorausgesetzt\b"
    r"|\bmit (?:\w+ )?(?:grundierung|sperre|absperrung|dampfbremse)\b|\bunter vorbehalt\b"
    r"|\bseulement\b|\buniquement\b|\bsauf\b|\bsous réserve\b|\bà condition\b"
    r"|\bavec (?:\w+ )?(?:primaire|barrière|pare-vapeur)\b",
    re.IGNORECASE,
)


def names_condition(text: str) -> bool:
    """Whether words say that what a document states holds in some cases alone.

    Words in English, German and French; our choice, and common practice of data sheets.

    Examples
    --------
    >>> [names_condition(one) for one in ("sheet 12, only with DPM", "sheet 12, revision 3")]
    [True, False]
    """
    return _CONDITION.search(text) is not None


_CODE = re.compile(r"\b[A-ZÄÖÜ]{2,}[A-Z/.-]*[ -]?\d")
"""The number of a standard or a document, like "BS 8203" or "TB-12"."""


@cache
def _document_words() -> frozenset[str]:
    text = files("moisturemap.survey").joinpath("document_words.toml").read_text("utf-8")
    return frozenset(tomllib.loads(text)["words"].split())


def names_document(text: str) -> bool:
    """Whether words name something written that holds: a sheet, a standard, a letter.

    Examples
    --------
    >>> [names_document(one) for one in ("data sheet 12", "BS 8203", "the client", "draft sheet")]
    [True, True, False, False]
    """
    if names_nothing(text) or has_lapsed(text):
        return False
    words = re.findall(r"[\w'-]+", text.casefold().replace("\u2019", "'"))
    return _CODE.search(text) is not None or not _document_words().isdisjoint(words)


def names_certificate(text: str) -> bool:
    """Whether words name a certificate, and one that is in force.

    Examples
    --------
    >>> [names_certificate(one) for one in ("C-2025-118", "none", "expired 2024")]
    [True, False, False]
    """
    return not names_nothing(text) and not has_lapsed(text)


def has_lapsed(text: str) -> bool:
    """Whether words say of a document that it holds no longer.

    Examples
    --------
    >>> [has_lapsed(one) for one in ("C-2025-118", "none", "expired 2024")]
    [False, False, True]
    """
    return _LAPSED.search(text) is not None
