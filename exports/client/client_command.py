"""The command `plumbcut client`."""

from __future__ import annotations

from pathlib import Path

import click

from ...shared.errors import InputError

MOST_OPTIONS = 6  # beside the deck itself on one page; our own


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--option",
    "options",
    multiple=True,
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Another parameter file, its price beside this one's; given again, several.",
)
@click.option(
    "--labour",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Your own table of hours (CSV: task, counts, hours).",
)
@click.option("--prices", type=click.Path(path_type=Path, dir_okay=False), help="A price list for all of them.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder. Default: out/NAME-client.")
def client(file: Path, options: tuple[Path, ...], labour: Path | None, prices: Path | None, out: Path | None) -> None:
    """For the client: one page of FILE with picture, sizes, materials, prices and options; hours in their own file."""
    from ..folder import check_replaceable, output_folder

    if len(options) > MOST_OPTIONS:
        raise InputError(f"--option: got {len(options)}; at most {MOST_OPTIONS} fit the page")
    out = out or Path("out") / f"{file.stem}-client"
    check_replaceable(out)
    from .labour import read_labour

    tasks = read_labour(labour) if labour else None
    from ..build import load_kernel

    load_kernel()
    from ..comparing.compare import variant
    from .client_sheet import write_client_pdf
    from .labour import task_hours, write_hours

    of = variant(file, prices=prices)
    others = [variant(o, name=o.stem, prices=prices) for o in options]
    with output_folder(out) as folder:
        hours = None if tasks is None else task_hours(tasks, of.measured)
        if hours is not None:
            write_hours(hours, folder / "labour.csv")
        together = None if hours is None else sum(h.hours for h in hours)
        write_client_pdf(of, others, folder / "client.pdf", together)
    click.echo(f"{out}: client.pdf" + (", labour.csv" if tasks is not None else ""))
