"""``lugwright bench``: the local web app."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.errors import ServeError

if TYPE_CHECKING:
    from lugwright.web.serve import Bench


@click.command()
@click.argument("builds", nargs=-1, type=click.Path(path_type=Path))
@click.option("--port", type=click.IntRange(0, 65535), default=8463, show_default=True, help="0: any that is free.")
@click.option("--open", "show", is_flag=True, help="Show it in the browser.")
@click.option("--tablet", is_flag=True, help="Let paired tablets and phones on the same network in; not encrypted.")
@click.option("--host", metavar="ADDRESS", help="With --tablet: the address of this machine that they are to use.")
def command(builds: tuple[Path, ...], port: int, show: bool, tablet: bool, host: str | None) -> None:
    """Serve build files, or folders of them, as pages on this machine: wiring side, work, power-up, circuit, book.

    Only this machine can reach them, unless --tablet is given. Stop with Ctrl-C; what is logged is on the disk at once.
    """
    from lugwright.web.addresses import device_address
    from lugwright.web.serve import serve

    if host is not None and not tablet:
        raise ServeError(
            what="--host is for tablets and phones only",
            found=f"--host {host} without --tablet",
            wanted="--tablet, so that it is plain that others on the network can reach the bench",
            do=f"lugwright bench --tablet --host {host}",
        )

    def ready(bench: Bench) -> None:
        click.echo(f"the bench is at {bench.address} (Ctrl-C stops it)")
        if bench.pairing is not None:
            click.echo(_for_tablets(bench.device_address, bench.pairing.code, bench.address))
        if show:
            click.launch(bench.address)

    serve(builds or (Path(),), port=port, host=device_address(host) if tablet else "", ready=ready, tell=click.echo)


def _for_tablets(address: str, code: str, home: str) -> str:
    return (
        f"for a tablet or phone: {address}\n"
        f"  code: {code[:4]} {code[4:]} (for one device; for another: {home}devices)\n"
        "caution: nothing of this is encrypted. Whoever is on the same network can overhear it, and then read and\n"
        "  write as that device does. Use a network of your own."
    )
