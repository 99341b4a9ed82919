"""`plumbcut form`: the measuring sheet for the first visit."""

from __future__ import annotations

from pathlib import Path

import click

from ..shared.papers import papers

UPRIGHT = tuple(dict.fromkeys(p.cards for p in papers().values()))  # what a printer, and a clipboard, takes


@click.command()
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("measuring-sheet.pdf"),
    help="Where to write it. Default: measuring-sheet.pdf.",
)
@click.option("--paper", type=click.Choice(UPRIGHT), default=UPRIGHT[0], help="Default: letter.")
def form(out: Path, paper: str) -> None:
    """Write a sheet to fill in on the first visit: sides, diagonals, heights, house, ground, what the office asks."""
    from .folder import check_file
    from .formats.measuring_sheet import write_form

    check_file("--out", out)
    write_form(out, paper)
    click.echo(f"{out}: two pages, {paper}")
