"""The command line, one file per command.

Command modules import click only; the science loads when a command runs, so that ``--help``
answers at once.
"""

from __future__ import annotations

import click

from moisturemap.cli.attach import attach
from moisturemap.cli.batch import batch
from moisturemap.cli.check import check
from moisturemap.cli.decide import decide
from moisturemap.cli.demo import demo
from moisturemap.cli.door import Door, language_option
from moisturemap.cli.drill import drill
from moisturemap.cli.drying import drying
from moisturemap.cli.investigate import investigate
from moisturemap.cli.join import join
from moisturemap.cli.layout import layout
from moisturemap.cli.map import map_floor
from moisturemap.cli.pack import pack
from moisturemap.cli.recover import recover
from moisturemap.cli.report import report
from moisturemap.cli.serve import serve
from moisturemap.cli.sign import sign

COMMANDS = (
    demo,
    layout,
    check,
    map_floor,
    drill,
    drying,
    decide,
    investigate,
    report,
    pack,
    attach,
    join,
    sign,
    recover,
    serve,
    batch,
)


@click.group(cls=Door, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="moisturemap")
def main() -> None:
    """Map subfloor moisture, flag pipes and metal, and plan where to drill.

    SURVEY is a folder with survey.toml, that file itself, or a project file (.gpkg).
    Relative readings are never a moisture content: the map guides where to test.
    """


for command in COMMANDS:
    language_option(command)
    main.add_command(command)
