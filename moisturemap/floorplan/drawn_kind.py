"""What a word of a drawing means: the kind of a line, a room, a column, or nothing to drill into.

Words of the trade in English and German. Common practice of drawings, not a standard.
"""

from __future__ import annotations

import re

_WORDS = {
    "exterior-wall": (
        "exterior wall, external wall, outer wall, outside wall, facade, aussenwand, aussenwände, "
        "fassade"
    ),
    "interior-wall": (
        "interior wall, internal wall, inner wall, partition, wall, walls, innenwand, innenwände, "
        "trennwand, wand, wände"
    ),
    "movement-joint": (
        "movement joint, expansion joint, isolation joint, bewegungsfuge, dehnfuge, dehnungsfuge, "
        "gebäudetrennfuge"
    ),
    "day-joint": (
        "day joint, construction joint, pour joint, cold joint, pour break, arbeitsfuge, "
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

_KIND_OF_WORD = {word: kind for kind, words in _WORDS.items() for word in words.split(", ")}
_SERVICE_WORDS = {word for word in _WORDS["known-service"].split(", ") if " " not in word}
_ENDING = {kind: tuple(words.split(", ")) for kind, words in _ENDINGS.items()}
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
        German compound by its last part; else one word for a service makes it a service.

    Examples
    --------
    >>> kind_of("Expansion_Joint"), kind_of("A-DOOR"), kind_of("furniture")
    ('movement-joint', 'door', None)
    >>> kind_of("Warmwasserleitung"), kind_of("sewer DN 100"), kind_of("Heizraum")
    ('known-service', 'known-service', 'room')
    """
    words = _split(text)
    for begin in range(len(words)):
        kind = _KIND_OF_WORD.get(" ".join(words[begin:]))
        if kind:
            return kind
    compounds = [next((k for k, e in _ENDING.items() if word.endswith(e)), None) for word in words]
    if words and compounds[-1]:
        return compounds[-1]
    service = "known-service" in compounds or not _SERVICE_WORDS.isdisjoint(words)
    return "known-service" if service else None


def is_harmless(text: object) -> bool:
    """Whether a word of a drawing stands for something that nothing runs in, such as furniture.

    Parameters
    ----------
    text : object
        As written in the drawing.
    """
    words = _split(text)
    return any(" ".join(words[begin:]) in _HARMLESS_WORDS for begin in range(len(words)))


def _split(text: object) -> list[str]:
    return re.sub(r"[\W_\d]+", " ", str(text).casefold()).split()
