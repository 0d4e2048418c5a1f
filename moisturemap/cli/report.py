"""``moisturemap report``: the document, or one figure for somebody else's report."""

from __future__ import annotations

import re
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from moisturemap.cli.door import (
    announce,
    as_of_option,
    json_option,
    print_files,
    print_json,
    progress,
    say,
    survey_argument,
    units_of,
    units_option,
    visit_option,
)
from moisturemap.outputs import replaced_file, told

if TYPE_CHECKING:
    from moisturemap.bundles import Findings, Judgement
    from moisturemap.report import ReportOptions, Supplement
    from moisturemap.store import Issue
    from moisturemap.survey import Survey, Visit

FORMATS = ("pdf", "docx", "html")


@click.command()
@survey_argument
@visit_option
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    default=Path(),
    show_default="here",
    help="Folder to write into.",
)
@click.option(
    "--format",
    "formats",
    multiple=True,
    type=click.Choice(FORMATS),
    help="Document to write; repeat for several. PDF by default.",
)
@click.option("--paper", type=click.Choice(["A4", "Letter"]), default="A4", show_default=True)
@units_option
@click.option(
    "--dates",
    type=click.Choice(["iso", "dmy", "mdy"]),
    default="iso",
    show_default=True,
    help="How days are written.",
)
@as_of_option
@click.option("--summary", is_flag=True, help="Write two pages for the client only.")
@click.option("--title", default="", help="Title instead of the survey's name.")
@click.option("--logo", type=click.Path(path_type=Path), help="PNG or JPEG for the first page.")
@click.option(
    "--field",
    "fields",
    multiple=True,
    metavar="NAME=TEXT",
    help="Line of the title block, such as Client=...; repeat.",
)
@click.option(
    "--answers",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="answers.toml: adds the section on where the water comes from.",
)
@click.option(
    "--issue",
    "issued_by",
    metavar="NAME",
    help="Freeze a copy in the project file, issued by NAME.",
)
@click.option("--figure", is_flag=True, help="Write only the map, with caption and alt text.")
@click.option(
    "--width", type=click.FloatRange(80, 600), metavar="MM", help="Width of the figure [mm]."
)
@click.option("--dpi", type=click.FloatRange(50, 600), default=200, show_default=True)
@json_option
def report(survey: Path, visit: str | None, out: Path, as_json: bool, **wishes: Any) -> None:
    """Write the report as PDF, DOCX or HTML, or with --figure one map with its caption."""
    from moisturemap.workflow.judge import judge_alone, judge_or_map
    from moisturemap.workflow.read_decided import read_decided

    if wishes["issued_by"]:
        _refuse_unless_project(survey)
    read, overrides = read_decided(survey)
    announce(read, visit, "study", "files" if wishes["figure"] else "report", *_compared(read))
    findings: Findings | Judgement
    if read.readings.empty and not read.tests.empty and not wishes["figure"]:
        findings = judge_alone(read, as_of=wishes["as_of"])
    else:
        findings = judge_or_map(
            read, visit=visit, as_of=wishes["as_of"], overrides=overrides, progress=progress()
        )
    if wishes["figure"] and findings.study is not None:
        from moisturemap.figures import Format, save_captioned_map

        written = save_captioned_map(
            findings.study,
            out,
            form=Format(width_mm=wishes["width"], units=units_of(wishes["units"], read)),
            dpi=wishes["dpi"],
        )
        notes: list[str] = []
    else:
        written, notes = _documents(survey, findings, out, wishes)
    print_files(written)
    if as_json:
        print_json({"files": [str(path) for path in written], "notes": notes})
    else:
        for note in notes:
            say(note)


def _compared(survey: Survey) -> tuple[str, ...]:
    """Return the work of comparing visits, where there are several to compare."""
    return ("drying",) if survey.readings["visit"].nunique() > 1 else ()


def reported_visit(findings: Findings | Judgement) -> Visit:
    """Return the visit of the scan; of tests alone the latest."""
    return findings.survey.visits[-1] if findings.study is None else findings.study.visit


def _documents(
    survey: Path, findings: Findings | Judgement, out: Path, wishes: dict[str, Any]
) -> tuple[list[Path], list[str]]:
    from moisturemap.report import write_report

    options, supplement = _options(wishes), _supplement(survey, findings, wishes["answers"])
    found = findings if findings.study is None else findings.study
    unfinished: dict[Path, Path] = {}
    notes: list[str] = []
    with told(out):
        out.mkdir(parents=True, exist_ok=True)
    # none takes its place before all are written and issued
    with ExitStack() as places:
        for suffix in dict.fromkeys(wishes["formats"] or ("pdf",)):
            path = out / f"report-{_file_word(reported_visit(findings).id)}.{suffix}"
            unfinished[path] = places.enter_context(replaced_file(path))
            notes += write_report(found, unfinished[path], options=options, supplement=supplement)
        if wishes["issued_by"]:
            made_with = _made_with(findings, options)
            notes.append(_issue(survey, [*unfinished.values()], made_with, wishes["issued_by"]))
    return list(unfinished), notes


def _supplement(survey: Path, findings: Findings | Judgement, answers: Path | None) -> Supplement:
    """Return what a project file holds beside the survey, and the investigation where asked."""
    from dataclasses import replace

    from moisturemap.report import Supplement, photographs_of
    from moisturemap.store import open_project, revisions_of
    from moisturemap.workflow.cautions import clearances
    from moisturemap.workflow.investigate import investigate

    drying = getattr(findings, "drying", None)
    given = Supplement(decision=findings.decision, drying=drying)
    if answers is not None:
        found = investigate(findings.survey, answers, study=findings.study)
        given = replace(given, investigation=found)
    if survey.suffix.lower() != ".gpkg":
        return given
    with open_project(survey) as project:
        kept = {} if findings.study is None else clearances(findings.study, project.settings())
        return replace(
            given,
            photographs=photographs_of(project),
            clearances=kept,
            revisions=revisions_of(project),
        )


def _options(wishes: dict[str, Any]) -> ReportOptions:
    from moisturemap.errors import OptionError
    from moisturemap.report import ReportOptions

    lines = {}
    for field in wishes["fields"]:
        name, equals, text = field.partition("=")
        if not equals or not name.strip():
            message = "a line of the title block is a name, an equals sign and a text"
            raise OptionError(message, value=field, allowed="NAME=TEXT such as Client=A. Person")
        lines[name.strip()] = text.strip()
    return ReportOptions(
        paper=wishes["paper"],
        units=wishes["units"] or "",
        dates=wishes["dates"],
        title=wishes["title"],
        title_block=lines,
        logo=wishes["logo"],
        summary=wishes["summary"],
        issued_by=wishes["issued_by"] or "",
    )


def _refuse_unless_project(survey: Path) -> None:
    from moisturemap.errors import OptionError

    if survey.suffix.lower() != ".gpkg":
        message = "a report is issued from a project file; pack the survey folder first"
        raise OptionError(message, value=str(survey), allowed="a project file (.gpkg)")


def _made_with(findings: Findings | Judgement, options: ReportOptions) -> Issue:
    from moisturemap.report import Material
    from moisturemap.results.key_numbers import key_numbers
    from moisturemap.store import Issue

    read = findings.survey
    subject = read if findings.study is None else findings.study
    judged = findings.decision
    as_of = {} if judged is None else {"as_of": judged.as_of.isoformat()}
    return Issue(
        key_numbers(findings.study, findings.decision),
        {
            "visit": reported_visit(findings).id,
            "units": options.units or read.units,
            "language": options.language,
            "report": Material(subject, options).number,
            **as_of,
        },
        read.provenance.options.get("record_number"),
    )


def _issue(survey: Path, files: list[Path], made_with: Issue, who: str) -> str:
    from moisturemap.report import report_stem
    from moisturemap.store import issue_together, open_project

    stem = report_stem(made_with.options["report"], made_with.options["language"])
    with open_project(survey, writable=True) as project:
        named = {f"{stem}{file.suffix}": file for file in files}
        issue_together(project, named, made_with, who, "report issued")
        return f"Issued by {who}; head of the record: {project.head()}"


def _file_word(name: str) -> str:
    """Reduce a name to what a file name may hold on every system."""
    return re.sub(r"[^\w.-]+", "-", name).strip("-.")[:60] or "visit"
