"""Storey by storey: what each holds, what lies below what, and a map of each."""

from __future__ import annotations

from moisturemap.report.content import Block, Bullets, Column, Paragraph, Picture, Section, Table
from moisturemap.report.material import Material
from moisturemap.report.pictures import storey_map
from moisturemap.results.storeys import from_above, on_storey, storey_table, storeys_of


def storeys(material: Material) -> Section | None:
    """List the storeys and compare each with the one above; None where none is stated."""
    study, wording = material.study, material.wording
    found = storeys_of(study)
    if not found:
        return None
    table = storey_table(study)
    columns = (
        Column("Storey", 2),
        Column("Rooms", 0.7, "right"),
        Column("Area", 1, "right"),
        Column("Readings", 0.9, "right"),
        Column("Zones", 0.7, "right"),
        Column("Reads wet", 1, "right"),
        Column("Contested", 1, "right"),
    )
    rows = tuple(
        (
            str(one.storey),
            f"{one.rooms}",
            wording.area(one.area_m2),
            f"{one.readings}",
            f"{one.zones}",
            wording.area(one.wet_m2),
            wording.area(one.contested_m2),
        )
        for one in table.itertuples()
    )
    note = (
        "From the top down. Reads wet: area of the wet zones of the relative scan; smaller patches "
        "are not counted."
    )
    blocks: list[Block] = [Table("Storeys", columns, rows, note=note, key="storeys")]
    below = tuple(wording.sentence(sentence) for sentence in from_above(study))
    if below:
        blocks += [Paragraph("Wet floor below wet floor", "lead"), Bullets(below)]
    elif len(found) > 1 and all(one.level is not None for one in found):
        blocks.append(Paragraph("No wet floor was found below wet floor of the storey above."))
    unknown = [one.name for one in found if one.level is None]
    if unknown:
        named = ", ".join(unknown)
        text = f"Not compared with a storey above, because no level is stated: {named}."
        blocks.append(Paragraph(text))
    return Section("Storeys", (*blocks, *_maps(material)))


def _maps(material: Material) -> tuple[Picture, ...]:
    """Draw a map of each storey that was read; a report without pictures has none."""
    study = material.study
    found = storeys_of(study)
    if len(found) < 2 or material.supplement.pictures is not None:
        return ()
    parts = [(one.name, on_storey(study, one)) for one in found]
    return tuple(
        storey_map(part, name, material.form) for name, part in parts if len(part.readings)
    )
