"""What a word of a drawing means: the kind of a line, a room, a column, or nothing to drill into.

Words of the trade in English and German. Common practice of drawings, not a standard.
"""

from __future__ import annotations

import re

_WORDS = {
    "exterior-wall": (
        "exterior wall, exterior walls, external wall, external walls, outer wall, outer walls, "
        "outside wall, outside walls, perimeter wall, perimeter walls, facade, facades, "
        "aussenwand, aussenwände, fassade, fassaden"
    ),
    "interior-wall": (
        "interior wall, interior walls, internal wall, internal walls, inner wall, inner walls, "
        "partition, partitions, wall, walls, innenwand, innenwände, "
        "trennwand, wand, wände"
    ),
    "movement-joint": (
        "movement joint, movement joints, expansion joint, expansion joints, isolation joint, "
        "isolation joints, bewegungsfuge, dehnfuge, dehnungsfuge, "
        "gebäudetrennfuge"
    ),
    "day-joint": (
        "day joint, day joints, construction joint, construction joints, pour joint, "
        "pour joints, cold joint, cold joints, pour break, arbeitsfuge, "
        "tagesfuge, betonierfuge"
    ),
    "known-service": (
        "known service, service, services, utility, utilities, pipe, pipes, pipework, piping, "
        "pipeline, waterline, water main, gas main, water line, gas line, sewer line, cable, "
        "cables, cabling, wire, wires, wiring, conduit, conduits, duct, ducts, ductwork, drain, "
        "drains, drainage, sewer, sewers, sewage, waste, waste water, soil stack, manhole, gully, "
        "floor drain, trap, hydronic, plumbing, sprinkler, riser, stopcock, valve, heating, "
        "heating loop, heating loops, heating circuit, heating mat, underfloor heating, floor "
        "heating, radiant heating, tendon, tendons, strand, strands, post tension, post "
        "tensioning, prestressing, abfluss, abflüsse, ablauf, bodenablauf, abwasser, "
        "schmutzwasser, regenwasser, grundleitung, heizkreis, heizschleife, gas, wasser, strom, "
        "elektro, sanitär, vorspannung, litze, litzen, heating area, heated area, heizfläche, "
        "kontrollschacht, revisionsschacht"
    ),
    "door": "door, doors, doorway, door opening, threshold, tür, türen, türöffnung, schwelle",
    "keep-clear": (
        "keep clear, no drill, no drilling, exclusion, restricted, sperrfläche, freihalten, nicht "
        "bohren"
    ),
    "power-point": (
        "power point, power points, socket, sockets, outlet, outlets, steckdose, steckdosen"
    ),
    "void": (
        "void, column, columns, pillar, pillars, pit, pits, shaft, opening, hole, stairwell, "
        "stütze, stützen, säule, säulen, pfeiler, schacht, aussparung, öffnung, treppenloch"
    ),
    "room": (
        "room, rooms, space, floor, area, outline, slab, raum, räume, zimmer, fläche, boden, "
        "grundriss, umriss"
    ),
}
_ENDINGS = {
    "room": "raum, räume, zimmer",
    "exterior-wall": "aussenwand, aussenwände",
    "interior-wall": "innenwand, trennwand",
    "movement-joint": "bewegungsfuge, dehnfuge, dehnungsfuge, trennfuge",
    "day-joint": "arbeitsfuge, tagesfuge",
    "void": "aussparung, stütze, stützen, schacht",
    "known-service": (
        "leitung, leitungen, rohr, rohre, kabel, kanal, kanäle, schlauch, ablauf, abfluss, "
        "heizung, spannglied, spannglieder"
    ),
    "door": "tür, türen",
}
"""Endings of German compound words, the first that fits."""

_HARMLESS = (
    "furniture, furn, furnishing, furnishings, text, texts, dimension, dimensions, dim, dims, "
    "grid, "
    "grids, gridline, gridlines, axis, axes, title, titleblock, title block, border, frame, "
    "legend, north arrow, north, annotation, annotations, note, notes, label, labels, viewport, "
    "viewports, defpoints, window, windows, glazing, ceiling, roof, stair, stairs, joinery, "
    "carpet, plant, plants, möbel, möblierung, einrichtung, beschriftung, bemassung, masse, "
    "raster, achse, achsen, rahmen, schriftfeld, plankopf, legende, nordpfeil, fenster, decke, "
    "dach, treppe, treppen, hilfslinie, hilfslinien, schraffur, building, footprint, parcel, site, "
    "storey, gebäude, geschoss, grundstück"
)
"""What a drawing shows beside the floor and nothing runs in: not kept clear of."""

_ALSO_SERVICES = (
    "power, data, electric, electrical, telecom, hvac, rebar, ufh, fbh, daten, netzwerk"
)
_KIND_OF_WORD = {word: kind for kind, words in _WORDS.items() for word in words.split(", ")}
_SERVICE_WORDS = {word for word in _WORDS["known-service"].split(", ") if " " not in word} | {
    *_ALSO_SERVICES.split(", ")
}
_ROOM_FOR = {"service", "services", "utility", "utilities", "waste"}
"""Words that say what a wall or door is for rather than what runs in it."""
_ENDING = {kind: tuple(words.split(", ")) for kind, words in _ENDINGS.items()}
_BUILT = ("exterior-wall", "interior-wall", "door")
_HARMLESS_WORDS = frozenset(_HARMLESS.split(", "))


def kind_of(text: object) -> str | None:
    """Return the kind a word of a drawing stands for, or None when it is not known.

    Parameters
    ----------
    text : object
        As written in the drawing.

    Returns
    -------
    str or None
        One of ``LINE_KINDS``, ``"room"``, or ``"void"`` (a column, pit or opening). A layer name
        such as ``"A-DAY-JOINT"`` or ``"02_Columns"`` is understood by the words it ends with, a
        German compound by its last part; else one word for a service makes it a service, and so
        it does beside a wall or door: what runs there is worth more care than the wall.

    Examples
    --------
    >>> kind_of("Expansion_Joint"), kind_of("A-DOOR"), kind_of("furniture")
    ('movement-joint', 'door', None)
    >>> kind_of("gas pipe interior wall"), kind_of("service door")
    ('known-service', 'door')
    >>> kind_of("Warmwasserleitung"), kind_of("sewer DN 100"), kind_of("Heizraum")
    ('known-service', 'known-service', 'room')
    """
    words = _split(text)
    for begin in range(len(words)):
        kind = _KIND_OF_WORD.get(" ".join(words[begin:]))
        if kind:
            return _unless_service(kind, words[:begin])
    ending = next((k for k, e in _ENDING.items() if words and words[-1].endswith(e)), None)
    if ending:
        return _unless_service(ending, words[:-1])
    return "known-service" if names_service(text) else None


def names_service(text: object, *, built: bool = False) -> bool:
    """Whether a word of a drawing names something that runs in a floor or wall, wherever it stands.

    Parameters
    ----------
    text : object
        As written in the drawing.
    built : bool
        Of a wall or door: a "service door" leads somewhere, and nothing runs in it.
    """
    words = _split(text)
    named = _SERVICE_WORDS - _ROOM_FOR if built else _SERVICE_WORDS
    return not named.isdisjoint(words) or any(map(_is_service_compound, words))


def _unless_service(kind: str, beside: list[str]) -> str:
    hidden = kind in _BUILT and names_service(beside, built=True)
    return "known-service" if hidden else kind


def _is_service_compound(word: str) -> bool:
    return next((k for k, e in _ENDING.items() if word.endswith(e)), "") == "known-service"


def is_harmless(text: object) -> bool:
    """Whether a word of a drawing stands for something that nothing runs in, such as furniture.

    Parameters
    ----------
    text : object
        As written in the drawing.
    """
    words = _split(text)
    if names_service(text):
        return False
    return any(" ".join(words[begin:]) in _HARMLESS_WORDS for begin in range(len(words)))


def _split(text: object) -> list[str]:
    text = " ".join(text) if isinstance(text, list) else text
    return re.sub(r"[\W_\d]+", " ", str(text).casefold()).split()
