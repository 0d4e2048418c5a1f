"""What a floor is made of, by the words and designations people write for it."""

from __future__ import annotations

import re

CALCIUM_SULPHATE, CEMENT, TIMBER = "calcium sulphate", "cement", "timber"
OTHER_BINDERS = ("magnesite", "asphalt", "resin")
MATERIALS = (CALCIUM_SULPHATE, CEMENT, TIMBER, *OTHER_BINDERS)
"""What a layer may be made of, as far as limits and methods tell layers apart."""

UNSTATED = "concrete"
"""What a layer is taken for where nothing is stated; one that is known is a ``concrete slab``."""

_PARTS = {
    CALCIUM_SULPHATE: (
        "gypsum",
        "gips",
        "anhydrit",
        "anidrit",
        "calcium sul",
        "calciumsul",
        "calcium-sul",
        "caso4",
        "sulfate de calcium",
        "sulphate of lime",
        "hemihydrate",
    ),
    TIMBER: (
        "timber",
        "wood",
        "chipboard",
        "particle",
        "fibreboard",
        "fiberboard",
        "hardboard",
        "osb",
        "joist",
        "floorboard",
        "holz",
        "dielen",
        "spanplatte",
    ),
    "magnesite": ("magnesi", "xylolit", "steinholz"),
    "asphalt": ("asphalt",),
    "resin": ("epoxy", "polyurethane", "synthetic resin", "kunstharz"),
    CEMENT: ("cement", "concrete", "beton", "zement"),
}
_DESIGNATIONS = {
    CALCIUM_SULPHATE: ("ca", "caf"),
    CEMENT: ("ct", "ctf"),
    "magnesite": ("ma",),
    "asphalt": ("as",),
    "resin": ("sr",),
    TIMBER: ("ply",),
}
"""Words by themselves, most of them the designations of screeds by EN 13813:2002, clause 7 (from
memory): CT cement, CA calcium sulfate, MA magnesite, AS mastic asphalt, SR synthetic resin; F
behind CA and CT is flowing screed (DIN 18560-1, from memory)."""

_ABOVE = re.compile(r"\b(?:on|over|above|upon|auf|über|sur)\b", re.IGNORECASE)
"""Words between a layer and what it lies on."""

_WOOD_IN_MIX = re.compile(
    r"(?<!dry )(?<!dry-)(?<!trocken)(?:screed|estrich)|\bchape|topping|massetto|mortar|mörtel"
    r"|mortier|holzbeton|wood[- ](?:concrete|cement)|cement[- ]bonded|zementgebunden",
    re.IGNORECASE,
)
"""Mineral layers that wood chips or fibres are mixed into, or that lie on timber: no timber
themselves (common words); a dry screed is of boards."""

_FAST = re.compile(r"fast|rapid|quick|early|schnell|rapide|accelerat|beschleunig", re.IGNORECASE)
"""Words for layers made to dry in days: their makers say when they are tested."""

_LAYERS_ON_TOP = ("screed", "estrich", "topping", "chape", "massetto", "levelling", "leveling")

_SLABS = re.compile(
    r"slab|dalle|bodenplatte|betonplatte|decke\b|sohle|losa|hormig|calcestr", re.IGNORECASE
)
"""Words for slabs, of which the structure is concrete whatever else is said of them."""

_CEMENT_ON_TOP = re.compile(
    r"cement|zement|ciment|concrete (screed|topping)|betonestrich|\bctf?\b", re.IGNORECASE
)


def material_of(base: str) -> str:
    """Return what a layer is made of, one of ``MATERIALS``, or "" where the words do not say.

    Parameters
    ----------
    base : str
        As the survey writes it.

    Examples
    --------
    >>> [material_of(text) for text in ("CA-C25-F5", "Zementestrich", "concrete slab", "screed")]
    ['calcium sulphate', 'cement', 'cement', '']
    >>> [material_of(text) for text in ("cement screed with wood chips", "chipboard on screed")]
    ['cement', 'timber']
    """
    text = base.casefold()
    mixed = _WOOD_IN_MIX.search(_ABOVE.split(text, maxsplit=1)[0]) is not None
    words = set(re.findall(r"[^\W\d_]+", text))
    for material, parts in _PARTS.items():
        if material == TIMBER and mixed:
            continue
        if any(part in text for part in parts) or words & set(_DESIGNATIONS.get(material, ())):
            return material
    return ""


def names_material(base: str) -> bool:
    """Whether words say what the layer under test is made of: a layer on a slab by its binder.

    Parameters
    ----------
    base : str

    Examples
    --------
    >>> [names_material(text) for text in ("slab", "screed", "screed on concrete slab", "CT-C30")]
    [True, False, False, True]
    """
    text = base.casefold().strip()
    if text == UNSTATED:
        return False
    on_top, material = any(word in text for word in _LAYERS_ON_TOP), material_of(base)
    if on_top and material in ("", CEMENT):
        return _CEMENT_ON_TOP.search(text) is not None
    return bool(material) or _SLABS.search(text) is not None


def is_fast(base: str) -> bool:
    """Whether words say that a layer is made to dry fast.

    Parameters
    ----------
    base : str
    """
    return _FAST.search(base) is not None


def may_hold_heating(base: str) -> bool:
    """Whether floor heating may be laid in a layer: any but a stated slab of concrete or timber.

    Parameters
    ----------
    base : str
    """
    text = base.casefold()
    if any(word in text for word in _LAYERS_ON_TOP):
        return True
    slab = any(word in text for word in ("concrete", "beton")) and text.strip() != UNSTATED
    return not slab and material_of(base) != TIMBER
