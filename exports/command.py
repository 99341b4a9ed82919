"""The command line. The only room that knows all the others.

Exit codes: 0 done, 1 `check` found a rule not met, 2 bad input (nothing written). Nothing here imports the geometry
kernel until a file has passed validation, so that `--help`, `schema` and a faulty file answer at once.
"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..shared.errors import DesignError, InputError, PlumbcutError
from ..shared.papers import sheet_papers
from .client.client_command import client
from .form_command import form

CAUTION = (
    "Not a substitute for the local code, an engineer or the authority having jurisdiction. Verify on site; call before"
    " digging; wear protection when cutting."
)


class _Commands(click.Group):
    """Turns every fault a user can meet into its message and exit code 2, and never into a traceback."""

    def invoke(self, ctx: click.Context):
        try:
            return super().invoke(ctx)
        except PlumbcutError as e:
            click.echo(str(e), err=True)
            ctx.exit(2)


@click.group(cls=_Commands, epilog=CAUTION, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="plumbcut")
def main() -> None:
    """A timber deck from one parameter file: solids, permit drawings, quantities, cut list and checks."""


def _progress():
    """Shows the running stage on a terminal; silent in a pipe."""
    if not sys.stderr.isatty():
        return lambda stage: None

    def say(stage: str) -> None:
        click.echo(f"\r\033[K  {stage} ...", err=True, nl=False)

    return say


def _clear() -> None:
    if sys.stderr.isatty():
        click.echo("\r\033[K", err=True, nl=False)


def _located(path: Path, error: DesignError) -> InputError:
    from ..model.parameter_file import locate

    return locate(path, error)


def _list_named(file: Path, parameters) -> list[Path]:
    """The price list that a parameter file names, where it names one."""
    return [file.parent / parameters.order.prices] if parameters.order.prices else []


def _temperature(ctx, param, text: str | None) -> float | None:
    """Degrees Fahrenheit from `38F` or `4C`; a bare number is Fahrenheit."""
    if text is None:
        return None
    body = text.strip().rstrip("°").upper().removesuffix("F").rstrip("° ")
    try:
        value = float(body.removesuffix("C").rstrip("° ")) * 9 / 5 + 32 if body.endswith("C") else float(body)
    except ValueError:
        value = float("nan")
    if not -60 <= value <= 140:
        raise InputError(f"--temperature: got {text!r}; wanted degrees from -60F to 140F, like 38F or 4C")
    return value


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Output folder; what an earlier build wrote there goes. Default: out/NAME beside where you are.",
)
@click.option("--units", type=click.Choice(["imperial", "metric"]), help="Of the drawings; default as the file says.")
@click.option(
    "--paper",
    type=click.Choice(sheet_papers()),
    help="Sheet size; default as the file says.",
)
@click.option(
    "--temperature",
    metavar="38F",
    callback=_temperature,
    help="Of the boards on the day of laying (38F, 4C): their gaps and cut lengths follow it.",
)
@click.option(
    "--prices", type=click.Path(path_type=Path, dir_okay=False), help="A price list (CSV) in place of the file's own."
)
@click.option("--ifc", is_flag=True, help="Write model.ifc too (needs the Python package ifcopenshell).")
@click.option("--times", is_flag=True, help="Print the seconds of each stage.")
def build(
    file: Path,
    out: Path | None,
    units: str | None,
    paper: str | None,
    temperature: float | None,
    prices: Path | None,
    ifc: bool,
    times: bool,
) -> None:
    """Make the model, the drawings, the lists and the checks of FILE.

    A design that breaks a rule is still drawn and measured: see the checks. The earlier output stays as it was until
    everything is written.
    """
    from ..model.parameter_file import read
    from .folder import check_replaceable

    parameters = read(file)
    if units or paper:
        drawing = parameters.drawing.model_copy(update={k: v for k, v in (("units", units), ("paper", paper)) if v})
        parameters = parameters.model_copy(update={"drawing": drawing})
    if temperature is not None:
        gaps = parameters.gaps.model_copy(update={"temperature_f": temperature})
        parameters = parameters.model_copy(update={"gaps": gaps})
    out = out or Path("out") / file.stem
    check_replaceable(out)
    from .build import Stages, write_all

    stages = Stages(_progress())
    try:
        result = write_all(parameters, out, stages, source=file, ifc=ifc, prices=prices)
    except DesignError as e:
        raise _located(file, e) from None
    finally:
        _clear()
    from .report import summary

    click.echo(summary(result, out))
    if times:
        for name, seconds in stages.seconds.items():
            click.echo(f"  {seconds:7.3f} s  {name}")


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--all", "everything", is_flag=True, help="Show rules that are met as well.")
@click.option(
    "--csv", "csv_path", type=click.Path(path_type=Path, dir_okay=False), help="Write every result to this file too."
)
@click.option(
    "--mend",
    is_flag=True,
    help="Try the values that rows not met name, a build each: is the row met then, what else changes, what to paste.",
)
@click.option(
    "--prices", type=click.Path(path_type=Path, dir_okay=False), help="A price list (CSV) in place of the file's own."
)
def check(file: Path, everything: bool, csv_path: Path | None, mend: bool, prices: Path | None) -> None:
    """Measure the model of FILE against the published rules. Exit code 1 where any is not met."""
    from ..model.parameter_file import read
    from .folder import check_file

    if csv_path:
        check_file("--csv", csv_path, file)
    parameters = read(file)
    if csv_path:
        check_file("--csv", csv_path, *_list_named(file, parameters), *([prices] if prices else []))
    from .build import Stages, model
    from .named_files import price_list
    from .report import check_table

    try:
        price_list(parameters, file, prices)
    except DesignError as e:  # no rule asks for prices; but the frame chosen without them may be another than a build's
        click.echo(f"{_located(file, e)}; the frame is chosen without prices here", err=True)
    try:
        result = model(parameters, Stages(_progress()), file, prices)
    except DesignError as e:
        raise _located(file, e) from None
    finally:
        _clear()
    if csv_path:
        from .formats.checks_csv import write_checks

        write_checks(result.checks, csv_path)
    click.echo(check_table(result.checks, everything, parameters.drawing.units == "metric"))
    if mend:
        click.echo()
        click.echo(_mended(file, result, prices))
    sys.exit(1 if any(c.result == "not met" for c in result.checks) else 0)


def _mended(file: Path, result, prices: Path | None) -> str:
    """What came of the values that rows not met name, each tried on a deck of its own."""
    from ..model.design.trials import tried_mends
    from ..model.parameter_file import given_line, prepare
    from .build import Stages, model
    from .report import mend_lines

    def changed(values):
        return model(prepare(file, values)[0], Stages(), file, prices).checks

    try:
        found = tried_mends(result.checks, result.deck, result.structure, changed, _progress())
    finally:
        _clear()
    metric = result.deck.parameters.drawing.units == "metric"
    return "\n".join(mend_lines(found, lambda key: given_line(file, key), metric))


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--picture",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.png|svg",
    help="Draw the frame in plan here.",
)
def design(file: Path, picture: Path | None) -> None:
    """Print what was chosen for the frame where FILE leaves it out, as lines to paste into it, with the reasons: of
    each key what bound it, and the runner-up with what it would have cost.

    Exit code 1 where a member of the frame is not met whatever was tried.
    """
    from ..model.parameter_file import read
    from .build import Stages, frame_reasons, load_kernel
    from .folder import check_file
    from .named_files import price_list
    from .report import design_lines

    parameters = read(file)
    if picture:
        _png_or_svg(picture)
        check_file("--picture", picture, file, *_list_named(file, parameters))
    load_kernel()
    from ..model.design.variants import variants

    try:
        listed = price_list(parameters, file)
        found = list(variants(parameters, listed, progress=_progress()))
    except DesignError as e:
        raise _located(file, e) from None
    finally:
        _clear()
    from .comparing.frames_beside import frames_beside
    from .report import variant_lines

    made = found[0].made
    metric, why = parameters.drawing.units == "metric", frame_reasons(made, listed, Stages())
    shown = [(v.named, v.made) for v in found]
    figures = [*frames_beside(shown, listed, metric), *variant_lines(found[1:], made)]
    click.echo("\n".join(design_lines(made, metric, why, figures)))
    if picture:
        from .pictures.canvas import save_one
        from .pictures.frame_picture import plans_side_by_side
        from .pictures.shades import name_of

        name = f"{name_of(made.deck)}, the frame in plan"
        plans = [(told, d.deck.layout) for told, d in shown]
        save_one(plans_side_by_side(plans, name, metric), picture)
    sys.exit(1 if made.faults else 0)


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Output folder; what an earlier run wrote there goes. Default: out/NAME-pictures.",
)
def picture(file: Path, out: Path | None) -> None:
    """Draw FILE as PNG and SVG: from four corners, exploded by layer, and each flight of stairs side on."""
    from ..model.parameter_file import read
    from .folder import check_replaceable, output_folder

    parameters = read(file)
    out = out or Path("out") / f"{file.stem}-pictures"
    check_replaceable(out)
    from .build import Stages, load_kernel
    from .named_files import prices_known

    stages = Stages(_progress())
    try:
        with stages.stage("geometry kernel"):
            load_kernel()
        from ..model.design.designed import designed
        from ..model.measuring.measure import measure_all
        from .pictures.picture import write_pictures

        with output_folder(out) as folder, stages.stage("pictures"):
            deck = designed(parameters, prices=prices_known(parameters, file)).deck
            names = [path.name for path in write_pictures(deck, folder, measure_all(deck.parts))]
    except DesignError as e:
        raise _located(file, e) from None
    finally:
        _clear()
    click.echo(f"{out}: {', '.join(sorted(names))}")


@main.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="On 127.0.0.1. Default: any that is free.")
@click.option(
    "--open/--no-open", "show", default=None, help="Open the page in your browser. Default: where there is a screen."
)
def watch(file: Path, port: int, show: bool | None) -> None:
    """Follow FILE: build on every save and bring the page up to date, on this machine alone.

    A broken file shows its message on the page; the last good model stays.
    """
    if not file.exists():
        raise InputError(f"{file}: no such file")
    import os
    import webbrowser

    from .build import load_kernel

    if show is None:
        screen = sys.platform in ("win32", "darwin") or os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
        show = bool(screen) and sys.stdout.isatty()
    load_kernel()
    from .page.watch import watch as follow

    follow(file, port, webbrowser.open if show else lambda url: None, click.echo)


@main.command()
@click.argument("files", nargs=-1, required=True, metavar="FILE [FILE]", type=click.Path(path_type=Path))
@click.option(
    "--vary",
    multiple=True,
    metavar="KEY=VALUE,VALUE",
    help="Build FILE with each value; given again, every combination.",
)
@click.option(
    "--csv",
    "csv_path",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write two decks' comparison here, piece by piece.",
)
@click.option(
    "--prices",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A price list (CSV) for both files, in place of theirs.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="With --vary: table and plot go here in place of earlier ones. Default: out/NAME-sweep.",
)
def compare(
    files: tuple[Path, ...], vary: tuple[str, ...], csv_path: Path | None, prices: Path | None, out: Path | None
) -> None:
    """Two files side by side: what moved, marks, length bought, weight, price, rules. Or one file with values that
    vary:

    plumbcut compare deck.toml --vary frame.joist_spacing=12in,16in,24in

    Two variants are set side by side as well.
    """
    from .folder import check_file

    if csv_path:
        check_file("--csv", csv_path, *files)
    if vary and len(files) == 1:
        if prices:
            raise InputError("--prices: goes with two files; a sweep takes the list that its file names")
        return _sweep(files[0], vary, csv_path, out)
    if vary or len(files) != 2 or out:
        raise InputError("compare: give two files, or one file and --vary; --out goes with --vary")
    from ..model.parameter_file import read

    lists = [path for file in files for path in _list_named(file, read(file))]
    if csv_path:
        check_file("--csv", csv_path, *lists, *([prices] if prices else []))
    _side_by_side((files[0], None, ""), (files[1], None, ""), csv_path, prices)


def _side_by_side(a: tuple, b: tuple, csv_path: Path | None, prices: Path | None = None):
    from .build import load_kernel

    load_kernel()
    from .comparing.compare import two
    from .comparing.side_by_side import text, write_csv

    pair = two(a, b, prices)
    if csv_path:
        write_csv(*pair, csv_path)
    click.echo(text(*pair))
    return pair


def _sweep(file: Path, vary: tuple[str, ...], csv_path: Path | None, out: Path | None) -> None:
    from .comparing.sweep import changes, checked, combinations, named, read_vary, summed, sweep
    from .comparing.sweep_plot import WRITTEN
    from .folder import check_file, check_replaceable, output_folder

    labels = combinations(read_vary(vary))
    if csv_path and len(labels) != 2:
        raise InputError("--csv: goes with two decks or two variants; a sweep's table is sweep.csv in --out")
    out = out or Path("out") / f"{file.stem}-sweep"
    check_replaceable(out)
    lists = [path for p in checked(file, labels) for path in _list_named(file, p)]
    if csv_path:
        check_file("--csv", csv_path, *lists)
        if csv_path.resolve() in [(out / name).resolve() for name in WRITTEN]:
            raise InputError(f"--csv: {csv_path} is a file that the sweep itself writes; give another name")
    if len(labels) == 2:
        pair = _side_by_side(*((file, changes(x), named(x)) for x in labels), csv_path)
        found = [summed(v, x) for v, x in zip(pair, labels)]
        click.echo()
    else:
        say = _progress()
        found = sweep(file, labels, lambda n: say(f"{n} of {len(labels)} variants"))
        _clear()
    from .comparing.sweep_plot import table, write_sweep

    with output_folder(out) as folder:
        write_sweep(found, folder, file.stem)
    click.echo(f"{table(found)}\n{out}: {', '.join(WRITTEN)}")


@main.command()
@click.option(
    "--picture",
    type=click.Path(path_type=Path),
    help="Draw the starter file's outline too: corners, names of edges, left and right (PNG or SVG).",
)
def new(picture: Path | None) -> None:
    """Print a commented starter file: plumbcut new > deck.toml"""
    from ..model.input.starter import starter

    if picture:
        from ..model.parameter_file import prepare
        from .folder import check_file

        _png_or_svg(picture)
        check_file("--picture", picture)
        parameters, layout = prepare("deck.toml", source=starter().encode())
        from .pictures.canvas import save_one
        from .pictures.outline_picture import outline_picture

        name = f"{parameters.project.name}, the outline as the file gives it"
        save_one(outline_picture(layout, name), picture)
    click.echo(starter(), nl=False)


def _png_or_svg(picture: Path) -> None:
    if picture.suffix.lower() not in (".png", ".svg"):
        raise InputError(f"--picture: got {picture}; wanted a name that ends in .png or .svg")


@main.command()
def schema() -> None:
    """Print the JSON Schema of the parameter file, for an editor."""
    import json

    from ..model.input.starter import json_schema

    click.echo(json.dumps(json_schema(), indent=2))


main.add_command(client)
main.add_command(form)

if __name__ == "__main__":
    main()
