"""``moisturemap demo``: the main job on an invented floor."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from moisturemap.cli.door import announce, json_option, print_json, progress, say, units_option

if TYPE_CHECKING:
    from moisturemap.bundles import Findings
    from moisturemap.investigation import Investigation
    from moisturemap.units import Units

PNG = ("png",)
FLOORS = ("bakery", "flat", "warehouse", "clinic")


@click.command()
@click.option(
    "--floor",
    type=click.Choice([*FLOORS, "all"]),
    default="bakery",
    show_default=True,
    help="Which invented floor.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    default=Path("demo_output"),
    show_default=True,
    help="Folder to write into.",
)
@units_option
@json_option
def demo(floor: str, out: Path, units: str | None, as_json: bool) -> None:
    """Run the main job on an invented floor and say where the results are.

    Writes the survey as it was read, the map with its files, the decision where calibrated tests
    are recorded, drying where visits repeat, where the water comes from where answers lie beside
    the survey, and the report. Tests are judged as on the day after the last record.
    """
    from moisturemap.results.study_words import describe
    from moisturemap.results.summary import summarise
    from moisturemap.units import Units
    from moisturemap.workflow.demo import copy_demo, day_after
    from moisturemap.workflow.judge import judge_or_map
    from moisturemap.workflow.read import read_survey

    spoken_in, summaries = Units(units or "metric"), {}
    for name in FLOORS if floor == "all" else (floor,):
        folder = copy_demo(name, out / name)
        survey = read_survey(folder)
        announce(survey, None, "study", "files", "report")
        day = day_after(survey)
        findings = judge_or_map(survey, as_of=day, progress=progress())
        _write(findings, out / name, spoken_in)
        summaries[name] = summarise(findings.study)
        if not as_json:
            say(describe(findings.study, spoken_in))
            if findings.decision is not None:
                told = f"Verdict of the calibrated tests on {day}, the day after the last record"
                say(f"\n{told}: {spoken_in.sentence(findings.decision.sentence)}")
            say(f"\nThe survey as it was read: {folder}")
            say(f"All results:                {out / name}")
            say(f"Look first at:              {out / name / 'map.png'}")
            if (out / name / "report.pdf").exists():
                say(f"Report:                     {out / name / 'report.pdf'}")
    if as_json:
        print_json(summaries)


def _write(findings: Findings, out: Path, units: Units) -> None:
    from moisturemap.figures import Format, save_study_figures
    from moisturemap.figures.decision_figures import save_decision_figures
    from moisturemap.figures.drying_figures import save_drying_figures
    from moisturemap.results.decision import export_decision
    from moisturemap.results.drying_summary import export_drying
    from moisturemap.results.run import write_run
    from moisturemap.results.study_files import export_study

    study, found, form = findings.study, _investigated(findings), Format(units=units)
    writers = [
        partial(export_study, study),
        partial(save_study_figures, study, formats=PNG, form=form),
    ]
    if findings.decision is not None:
        writers += [
            partial(export_decision, findings.decision),
            partial(save_decision_figures, findings.decision, formats=PNG, form=form, study=study),
        ]
    if findings.drying is not None:
        writers += [
            partial(export_drying, findings.drying),
            partial(
                save_drying_figures,
                findings.drying,
                formats=PNG,
                form=form,
                decision=findings.decision,
            ),
        ]
    if found is not None:
        from moisturemap.figures.investigation_figures import save_investigation_figures
        from moisturemap.results.investigation import export_investigation

        name = findings.survey.name
        writers += [
            partial(export_investigation, found, survey_name=name),
            partial(save_investigation_figures, found, survey_name=name, formats=PNG, form=form),
        ]
    report = partial(_write_report, findings, found, units)
    write_run("demo", findings.survey, out, [*writers, report])


def _investigated(findings: Findings) -> Investigation | None:
    """Investigate the source where the floor comes with answers."""
    from moisturemap.workflow.investigate import investigate

    folder = findings.survey.folder
    if folder is None or not (folder / "answers.toml").is_file():
        return None
    return investigate(findings.survey, folder / "answers.toml", study=findings.study)


def _write_report(
    findings: Findings, found: Investigation | None, units: Units, folder: Path
) -> list[Path]:
    from moisturemap.errors import MissingExtra
    from moisturemap.report import ReportOptions, Supplement, write_report

    report = folder / "report.pdf"
    try:
        write_report(
            findings.study,
            report,
            decision=findings.decision,
            drying=findings.drying,
            options=ReportOptions(units=units.system),
            supplement=Supplement(investigation=found),
        )
    except MissingExtra as missing:
        say(f"no report was written: {missing}", err=True)
        return []
    return [report]
