"""``moisturemap check``: what a careful colleague would say before leaving site."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from moisturemap.cli.door import (
    exit_by_result,
    exit_option,
    full_option,
    json_option,
    print_json,
    say,
    survey_argument,
    units_option,
    visit_option,
)

EXIT_CODES = {"info": 0, "warning": 3, "problem": 4}
"""Exit code of the most serious remark; 1 and 2 are refusals and wrong usage."""


@click.command()
@survey_argument
@visit_option
@click.option(
    "--head",
    metavar="LINE|FILE",
    help="End of the record that was kept outside: the line `sign` or a report printed, or a file.",
)
@click.option(
    "--public-key",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Key of the firm (PEM) the head must be signed with.",
)
@units_option
@full_option
@exit_option("3 with a warning, 4 with a problem")
@json_option
def check(
    survey: Path,
    visit: str | None,
    head: str | None,
    public_key: Path | None,
    by_result: bool,
    as_json: bool,
    **wishes: Any,
) -> None:
    """Say what a careful colleague would notice before leaving site.

    Of a project file also whether it agrees with its record of changes, and whether the numbers of
    the documents issued from it still come out. Of a folder of results, whether its files are those
    that were written.
    """
    from moisturemap.language import spoken_language, units_in
    from moisturemap.results.brief import brief_remarks
    from moisturemap.results.study_words import describe_remarks
    from moisturemap.units import Units
    from moisturemap.workflow.check import check_path

    if public_key is not None and head is None:
        message = "--public-key goes with --head."
        raise click.UsageError(message)
    result = check_path(survey, visit=visit, head=head, public_key=public_key)
    if as_json:
        print_json(result.as_dict())
    else:
        tell = describe_remarks if wishes["full"] else brief_remarks
        say(tell(result, Units(wishes["units"] or units_in(spoken_language(), result.units))))
    if by_result:
        exit_by_result(max((EXIT_CODES[one.level] for one in result.remarks), default=0))
    if result.unusable:
        raise SystemExit(1)
