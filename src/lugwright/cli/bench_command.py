"""``lugwright bench``: the local web app."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("builds", nargs=-1, type=click.Path(path_type=Path))
@click.option("--port", type=click.IntRange(0, 65535), default=8463, show_default=True, help="0: any that is free.")
@click.option("--open", "show", is_flag=True, help="Show it in the browser.")
def command(builds: tuple[Path, ...], port: int, show: bool) -> None:
    """Serve build files, or folders of them, as pages on this machine: wiring side, work, power-up, circuit, book.

    Only this machine can reach them. Stop with Ctrl-C; what is logged is on the disk at once.
    """
    from lugwright.web.serve import serve

    def ready(address: str) -> None:
        click.echo(f"the bench is at {address} (Ctrl-C stops it)")
        if show:
            click.launch(address)

    serve(builds or (Path(),), port=port, ready=ready)
