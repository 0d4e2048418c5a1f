"""What people's notes say that a record has no field for: services, wet floor, spoilt tests.

Words of English, German and French as they are commonly written (common practice, no single
source). A note is never taken for a measurement: it asks, it does not tell.
"""

from __future__ import annotations

import re
from functools import cached_property


class _Words:
    """Words to look for in notes, made ready when first looked for: few records have any note."""

    def __init__(self, words: str) -> None:
        self.words = words

    @cached_property
    def _ready(self) -> re.Pattern[str]:
        return re.compile(self.words, re.IGNORECASE)

    def search(self, note: str) -> re.Match[str] | None:
        """Find the first of them."""
        return self._ready.search(note)

    def sub(self, other: str, note: str) -> str:
        """Return a note with another word in their place."""
        return self._ready.sub(other, note)


_NO = (
    r"(?:\b(?:no|not|never|without|off|clear of|away from|nicht|kein\w*|ohne|neben keine[rm]?"
    r"|pas de|pas|non|sans|hors)|n't)\s+"
)
_BETWEEN = r"(?:(?:signs? of|visible|very|any|the|a|sehr|sichtbar\w*|de|d'|le|la|les) ?){0,2}"

_SERVICE = (
    r"(?:pipes?\b|piping|pipework|cables?\b|conduits?\b|ducts?\b|tendons?\b|strands?\b"
    r"|post-?tension"
    r"|p\.?t\b|heating (?:loop|pipe|coil|mat|cable|circuit)|under-?floor heating|floor heating"
    r"|drain(?:s|pipe|age)?\b|sewer|gas (?:line|main)|water (?:line|main)|hot water|sprinkler"
    r"|services\b|wir(?:e|es|ing)\b|leitung\w*|\w*leitung(?:en)?\b|rohr\w*|\w*rohre?n?\b"
    r"|\w*kabel\w*"
    r"|heizkreis\w*|heizschlange\w*|fu(?:ß|ss)bodenheizung|heizung\w*|spann(?:glied|litze|stahl)\w*"
    r"|abfluss\w*|tuyaux?|tubes?\b|câbles?|gaines?\b|conduites?|canalisations?|torons?"
    r"|précontrainte|plancher chauffant)"
)
_HIDDEN = (
    r"(?:gas(?:es|leitung)?\b|gaz\b|pe-?x\b|mlcp\b|fbh\b|radiant|hydronic|plumbing|hvac|tubing"
    r"|copper|heat(?:ing|ed)? loops?|manifolds?|earth(?:ing)? (?:strip|rod|cable|wire|tape)"
    r"|grounding|erdung\w*|erder\b|elt\b|elektro\w*|electric\w*|électri\w*|strom\w*|mains\b|live\b"
    r"|armou?red|swa\b|power\b(?![- ](?:float|trowel))|trunking|raceways?|fib(?:re|er) optics?"
    r"|telecom\w*|manhole|gull(?:y|ies)\b|stop ?cock|riser|sewage|tanks?\b|rebars?|bewehrung\w*"
    r"|(?:metal|pipe|cable) (?:detector|locator|finder)|beep\w*|metal\b|metall\w*|métal\w*"
    r"|steel\b(?![- ](?:float|trowel))|stahl\w*|acier|tub(?:o|i|ería|azione)\b|cavo\b|schlauch\w*"
    r"|schläuche|\d+ ?v(?:olts?|ac|dc)?\b|u\.?f\.?h\b|junction box|floor box|lighting circuit"
    r"|circuit\b|ring main|sockets? outlet|(?:soil|vent|waste) (?:stack|pipe)|stack\b|genny"
    r"|cat (?:scan|signal)|locator|detector|tracer|abzweigdose|steckdose|bodentank|bodendose"
    r"|(?:cold|hot|tap|potable|mains|chilled) water|lphw\b|mphw\b|chw\b|dhw\b|hws\b|cws\b|[hml]v\b"
    r"|elec\b|bonding (?:strap|strip|conductor|wire)|equipotential|potentialausgleich\w*"
    r"|flow (?:and|&) return|(?:kalt|warm|trink|heiz)wasser\w*|vorlauf|rücklauf"
    r"|cat[- ]?[5-8][ae]?\b|stromkreis|fallrohr|ortungsgerät|boîte (?:de dérivation|au sol)"
    r"|détecteur"
    r"|[lmh]thw\b|\bdcw\b|mcws\b|culverts?\b|sump\b|soakaway|rodding (?:eye|point)"
    r"|inspection (?:chamber|cover)|slot (?:channel|drain)|drainage channel|bus ?bars?\b"
    r"|sub-?mains?\b|feeder\b|med(?:ical)?\.? (?:gas\w*|air|o2|oxygen)|oxygen|nitrous"
    r"|refrigerant|vrf\b|fuel\b"
    r"|oil (?:line|pipe|tank)|petrol|spare (?:ways?\b|\d+ ?mm)|u\W?pvc\b|[mh]dpe\b|dn ?\d+"
    r"|\d+ ?(?:mm )?(?:dia(?:meter)?|cu)\b|eaux? (?:usées?|pluviales?|vannes?|chaude|froide)"
    r"|évacuation|siphon|fourreaux?|réseaux?|(?:pré|post)-?contraint\w*|gaine\w*"
    r"|(?-i:RWP|SVP|MH|FD|EU|IC(?= ?\d))\b)"
)
_DRAWN = _Words(r"[Øø⌀] ?\d|\b[fs]\.w\.")
_HIDDEN_NOTE = _Words(rf"\b{_HIDDEN}")
_NO_HIDDEN = _Words(
    rf"{_NO}{_BETWEEN}{_HIDDEN}"
    r"|(?:locator|detector|cat scan|genny|tracer|ortungsgerät|détecteur)\W+(?:\w+ )?"
    r"(?:clear|nothing|negative|silent|nichts|frei|rien|négatif)"
)
_FORBIDDEN = _Words(
    r"\b(?:(?:do not|don.?t|no|never|not to|must not) (?:be )?(?:drill|cor(?:e|es|ed|ing)\b|cut"
    r"|penetrat|fixings?\b|chas(?:e|ing)|chisel|bor(?:e|ing)\b|anchor)\w*"
    r"|keep (?:clear|off|out)|no[- ]go"
    r"|danger\w*|nicht (?:an|durch)?(?:bohren|stemmen|schneiden|fräsen)"
    r"|keine (?:\w*bohrung\w*|befestigung\w*|verankerung\w*)|bohrverbot|bohren verboten"
    r"|sperrfläche|freihalten|gefahr\w*|achtung|ne pas (?:percer|carotter|forer|découper|sceller)"
    r"|danger|interdit\w*|attention)"
)
"""What forbids to drill, whatever runs there."""

_SERVICE_NOTE = _Words(rf"\b{_SERVICE}")
_NO_SERVICE = _Words(rf"{_NO}{_BETWEEN}{_SERVICE}")

_WET = (
    r"(?:wet|damp|moist|soak|puddle|standing water|water on|leak|n[aä]ss|feucht|pfütze|undicht"
    r"|mouill|humid|tremp|flaque|fuite)"
)
_WET_NOTE = _Words(rf"\b{_WET}")
_NO_WET = _Words(
    r"(?:\b(?:no|not|never|without|nicht|kein\w*|ohne|pas|non|sans)|n't)\s+"
    rf"(?:signs? of |visible |very |sehr |sichtbar\w* )?{_WET}\w*"
    r"|damp[- ]?proof|wet ?room|nassraum|feuchtraum"
)
"""What denies it word for word, or names a thing; any other "no" in a note denies nothing."""

_FLOOD = (
    r"(?:flood\w*|burst\w*|leak\w*|overflow\w*|spill\w*|under water|water (?:on|in|over|came|ran"
    r"|got|from|through|under)|rain (?:came|got|in|through|water)|standing water|puddles?|soaked"
    r"|rained (?:in|on|through)|stood in (?:the )?water|sprinklers? (?:went|ran|came)"
    r"|wet[- ]?scrub\w*|scrubbed|mopped|jet[- ]?washed|pressure[- ]?washed|gewischt"
    r"|nass (?:gereinigt|gescheuert)|wetted|hail\w*|dripp\w*|seep\w*|kondenswasser|tropft\w*"
    r"|hagel\w*"
    r"|hosed|washed down|wet again|rohrbruch\w*|wasserschaden\w*|geplatzt\w*|undicht\w*|leck\w*"
    r"|überschwemm\w*|überflut\w*|übergelaufen|wasser (?:im|auf|in|unter)|\w*geregnet"
    r"|regenwasser"
    r"|pfützen?|nass (?:gewischt|geworden)|inond\w*|fuites?|dégât des eaux|débord\w*|rupture\w*"
    r"|eau (?:sur|dans|sous))"
)
_FLOOD_NOTE = _Words(rf"\b{_FLOOD}")
_NO_FLOOD = _Words(rf"{_NO}{_BETWEEN}{_FLOOD}|under water level|undercut|leak(?:age)?[- ]test\w*")

_SPOILT = (
    r"(?:still rising|rising|climbing|unstable|drifting|guess\w*|estimat\w*|copied|uncertain"
    r"|doubtful|unsure|invalid|cracks?\b|cracked|joints?\b|missing|loose|(?:cap|left|found) open"
    r"|fell|dropped|unsealed|condens\w*|heaters?\b|blowers?\b|fans?\b|air movers?|dehumidifiers?"
    r"|dryers?\b|primers?\b|primed|coat(?:ed|ing)s?|membrane|epoxy|resin|batter(?:y|ies)|wrong"
    r"|broken"
    r"|damaged|faulty|error|blown|compressed air|drilled wet|wet[- ](?:drill|cor|cut)\w*"
    r"|cored wet|wet core\w*|drilled with water"
    r"|(?:water|wet|damp) (?:in|from) (?:the )?hole"
    r"|(?:hole|dust|cuttings) (?:was |is )?(?:wet|damp)|wet (?:hole|dust|cuttings)"
    r"|void(?:ed)?\b|ignore\w*|disregard\w*|discard\w*|reject\w*|cancel\w*|suspect\w*|questionable"
    r"|dubious|unreliable|not reliable|provisional|preliminary|placeholder|dummy|made up|invented"
    r"|fake"
    r"|assum\w*|from memory|t\.?b\.?[cd]\b|to be (?:confirmed|checked|repeated|redone|retested)"
    r"|(?:must|should|needs? to|please|needs?) (?:be )?(?:repeat|redo|retest)\w*"
    r"|(?:repeat|redo|retest) (?:it|this|test|needed|required)"
    r"|(?:not|never) (?:measured|read|taken|tested|calibrated|checked|valid)|uncalibrated"
    r"|(?:out of|past|over) (?:its )?(?:calibration|date)|calibration due"
    r"|expired|overdue|lapsed|(?:taken|carried|copied) (?:over )?from"
    r"|same as (?:h|t|hole|test)\W?\d"
    r"|second (?:probe|reading|test)|other probe"
    r"|ungültig\w*|ignorier\w*|verwerf\w*|verworfen|wiederhol\w*|zweifelhaft\w*|vorläufig\w*"
    r"|angenommen|nicht (?:gemessen|abgelesen|kalibriert|geprüft|gültig)|abgelaufen|überfällig"
    r"|übernommen|übertragen von|zweite (?:sonde|ablesung)"
    r"|annulé\w*|ignorer|à (?:refaire|répéter|vérifier|confirmer)|douteu\w*|provisoire\w*"
    r"|supposé\w*"
    r"|(?:non|pas) (?:mesuré\w*|lu\b|étalonné\w*|valable)|étalonnage (?:expiré|échu)|périmé\w*"
    r"|repris de|deuxième sonde"
    r"|steigt|steigend|geschätzt|schätzung|unsicher|abgeschrieben|riss(?:e|en)?\b|fugen?\b|fehlt\w*"
    r"|lose|offen|gefallen|kondens\w*|heizer|heizlüfter|lüfter|ventilator\w*|\w*trockner"
    r"|grundier\w*"
    r"|beschicht\w*|batterie\w*|falsch|kaputt|defekt|nass gebohrt"
    r"|(?:bohr)?loch (?:war )?(?:nass|feucht)"
    r"|monte\b|estimé\w*|incertain\w*|fissure\w*|manqu\w*|ouvert\w*|tombé\w*|ventilateurs?"
    r"|déshumidificateurs?|primaire|foré à l'eau"
    r"|(?:not|never|nicht|pas|non|noch nicht)\s+(?:yet |fully |ganz |encore )?"
    r"(?:sealed|tight|stable|steady|settled|at equilibrium|equilibrated|in equilibrium|dicht|stabil"
    r"|ausgeglichen|étanche|stabilisé\w*))"
)
_SPOILT_NOTE = _Words(rf"\b{_SPOILT}")
_KEPT = (
    r"(?:cracks?|joints?|risse?n?|fugen?|fissures?|coat\w*|membrane|epoxy|resin|primers?|condens\w*"
    r"|kondens\w*|heaters?|fans?|blowers?|dehumidifiers?|\w*trockner\w*|lüfter\w*|loose|missing"
    r"|rising|drift\w*|error\w*|damage\w*)"
)
_DENIED = _Words(
    rf"{_NO}{_BETWEEN}(?:{_KEPT}\w*|{_SERVICE}|{_FLOOD})"
    r"(?:\s+(?:found|seen|visible|gefunden|sichtbar|trouvée?|visibles?)\b)?"
)
_NOT_SPOILT = _Words(
    rf"{_NO}{_BETWEEN}{_KEPT}\w*"
    rf"|\b{_KEPT} (?:off|aus|removed|entfernt|ground off|stopped|abgestellt|éteints?)\b"
    r"|\d\s*(?:m|cm|mm|ft|in)\b\s*(?:from|off|von|de|du)\b[^.,;]{0,20}"
    r"|\bjoint (?:venture|visit|inspection|reading)"
)


_FAULT = _Words(
    r"\b(?:fail\w*|leak\w*|open\b|opened|loose|wet\b|water|dust|debris|typo|misread|mis-?read"
    r"|mis-?keyed|mixed up|swapped|wrong|mistake|error|salt|drift\w*|calibrat\w*|too early|early"
    r"|not (?:seated|sealed|lined|cleaned|stable|at equilibrium)|unsealed|unlined|depth|deviat\w*"
    r"|broke\w*|damage\w*|defect\w*|fault\w*|fell|dropped|cracked|condens\w*|batter\w+|heat\w*"
    r"|ausgefallen|undicht\w*|offen|lose|nass|wasser|staub|verlesen|vertauscht|falsch|fehler\w*"
    r"|zahlendreher|salz\w*|drift|kalibri\w*|zu früh|nicht (?:dicht|stabil|gereinigt)|tiefe|defekt"
    r"|kaputt|gefallen|kondens\w*|batterie\w*|fuite|ouvert\w*|eau|poussière|erreur|faux|fausse"
    r"|trop tôt|panne|défaut|cassé\w*)"
)
_NO_FAULT = _Words(
    r"\b(?:no|not|never|without|nothing|kein\w*|ohne|nichts?|sans|aucun\w*)\s+"
    r"(?:\w+ )?(?:fail\w*|leak\w*|wrong|mistakes?|errors?|faults?|faulty|damage\w*|defect\w*"
    r"|fehler\w*|falsch|defekt|undicht|erreur|défaut)"
)


_MIX_UP = _Words(
    r"\b(?:belongs to|of (?:the |an)?other|another|mis-?typed|slip of|tippfehler|vertippt"
    r"|not (?:of )?this|practice|trial|gehört zu|ander\w+ (?:raum|boden|auftrag|stelle)"
    r"|probeweise|autre (?:pièce|chantier))"
)
_DOUBLE = _Words(
    r"\b(?:duplicat\w*|(?:entered|stored|keyed|typed) twice|doppelt\w*|en double|double saisie)"
)


def names_mix_up(reason: str) -> bool:
    """Whether the reason for taking a record away says that it is of elsewhere or mistyped.

    Examples
    --------
    >>> [names_mix_up(one) for one in ("mistyped", "belongs to room 2", "client asked")]
    [True, True, False]
    """
    return bool(_MIX_UP.search(reason))


def names_double(reason: str) -> bool:
    """Whether the reason for taking a record away says that it is there twice.

    Examples
    --------
    >>> [names_double(one) for one in ("entered twice", "duplicate of A", "mistyped")]
    [True, True, False]
    """
    return bool(_DOUBLE.search(reason))


def names_fault(reason: str) -> bool:
    """Whether the reason of a retest names what was wrong with the earlier reading.

    Examples
    --------
    >>> [names_fault(one) for one in ("the plug stood open", "client asked", "the probe was fine")]
    [True, False, False]
    """
    return bool(_FAULT.search(_NO_FAULT.sub(" ", reason)))


def warns_of_drilling(note: str) -> bool:
    """Whether a note beside a place names what a drill may hit there, or forbids to drill.

    Examples
    --------
    >>> [warns_of_drilling(one) for one in ("PT tendon", "do not drill", "kein Rohr", "door")]
    [True, True, False, False]
    """
    return (
        _names_service(note)
        or bool(_FORBIDDEN.search(note))
        or bool(_DRAWN.search(note))
        or bool(_HIDDEN_NOTE.search(_NO_HIDDEN.sub(" ", note)))
    )


def _names_service(note: str) -> bool:
    return bool(_SERVICE_NOTE.search(_NO_SERVICE.sub(" ", note)))


def names_wet_floor(note: str) -> bool:
    """Whether a note beside a reading speaks of wet floor there.

    Examples
    --------
    >>> [names_wet_floor(one) for one in ("wet to touch", "not wet", "damp-proof course")]
    [True, False, False]
    """
    return bool(_WET_NOTE.search(_NO_WET.sub(" ", note)))


def names_water_event(note: str) -> bool:
    """Whether a note of a visit tells that water came onto the floor.

    Examples
    --------
    >>> [names_water_event(one) for one in ("pipe burst, floor under water", "no leak found")]
    [True, False]
    """
    return bool(_FLOOD_NOTE.search(_NO_FLOOD.sub(" ", note)))


_DRYING = _Words(
    r"\b(?:heat\w*|dehumid\w*|dryers?|drying|fans?|blowers?|air movers?|u\.?f\.?h|desiccant"
    r"|\w*heizung\w*|\w*heiz(?:er|t|en|te)\b|\w*trockner\w*|trocknung\w*|lüfter|gebläse|fbh"
    r"|ventilator\w*|chauff\w*|déshumid\w*|séch\w*|ventilateurs?)"
)


def tells_of_drying(note: str) -> bool:
    """Whether a note of a visit speaks of heating or of machines that dry.

    Examples
    --------
    >>> [tells_of_drying(one) for one in ("dehumidifier ran", "no heaters", "corner")]
    [True, False, False]
    """
    return bool(_DRYING.search(without_denials(note)))


def without_denials(note: str) -> str:
    """Return a note without what denies word for word that something spoilt the test.

    Examples
    --------
    >>> without_denials("corner, no cracks")
    'corner,  '
    """
    return _DENIED.sub(" ", note)


def may_spoil_test(note: str) -> bool:
    """Whether a note beside a test may mean that its result does not stand.

    Examples
    --------
    >>> [may_spoil_test(one) for one in ("still rising", "cap was missing", "no cracks", "corner")]
    [True, True, False, False]
    """
    told = _NOT_SPOILT.sub(" ", note)
    return bool(_SPOILT_NOTE.search(told)) or _names_service(told) or names_water_event(told)
