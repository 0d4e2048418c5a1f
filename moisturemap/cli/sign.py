"""``moisturemap sign``: the end of a record, to be kept apart from the project."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from moisturemap.cli.door import json_option, print_json, say

if TYPE_CHECKING:
    from moisturemap.store import SignedHead


@click.command()
@click.argument("project", type=click.Path(path_type=Path), required=False)
@click.option(
    "--key",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Private key of the firm (PEM); without it only the line to copy is printed.",
)
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE", help="File to write."
)
@click.option(
    "--new-key",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Make a key of the firm instead: FILE to keep, and its .pub.pem to hand out.",
)
@click.option("--passphrase", is_flag=True, help="Ask for the passphrase of the key.")
@json_option
def sign(
    project: Path | None,
    key: Path | None,
    out: Path | None,
    new_key: Path | None,
    passphrase: bool,
    as_json: bool,
) -> None:
    """Print the end of a project's record of changes, or sign it with a key of the firm.

    Keep what it prints or writes apart from the project, such as with the client: `check --head`
    tells later whether the record still begins with the entries it had.
    """
    from moisturemap.store import make_key, write_signed_head

    if (project is None) == (new_key is None):
        message = "Name a project to sign, or --new-key FILE to make a key."
        raise click.UsageError(message)
    words = _ask(twice=new_key is not None) if passphrase else ""
    if new_key is not None:
        public = make_key(new_key, words)
        say(f"wrote {new_key} (keep it) and {public} (hand it out)", err=True)
        return
    assert project is not None
    signed = _head(project, key, words)
    if out is not None:
        write_signed_head(signed, out)
        say(f"wrote {out}", err=True)
    if as_json:
        print_json(asdict(signed))
    else:
        say(f"{project}: entry {signed.number}, {signed.hash}")


def _head(project: Path, key: Path | None, words: str) -> SignedHead:
    from moisturemap.store import SignedHead, open_project, sign_head

    with open_project(project) as opened:
        if key is not None:
            return sign_head(opened, key, words)
        head = opened.head()
        return SignedHead(head.number, head.hash, str(opened.settings().get("project", "")))


def _ask(twice: bool) -> str:
    asked: str = click.prompt(
        "Passphrase of the key", hide_input=True, confirmation_prompt=twice, err=True
    )
    return asked
