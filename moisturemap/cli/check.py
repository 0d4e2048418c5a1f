"""``moisturemap check``: what a careful colleague would say before leaving site."""

from __future__ import annotations

from pathlib import Path

import click

from moisturemap.cli.door import json_option, print_json, survey_argument, visit_option


@click.command()
@survey_argument
@visit_option
@json_option
def check(survey: Path, visit: str | None, as_json: bool) -> None:
    """Say what a careful colleague would notice before leaving site.

    Of a project file also whether it agrees with its record of changes, and whether the numbers of
    the documents issued from it still come out.
    """
    from moisturemap.results.study_words import describe_remarks
    from moisturemap.workflow.check import check_path

    result = check_path(survey, visit=visit)
    if as_json:
        print_json(result.as_dict())
    else:
        click.echo(describe_remarks(result))
