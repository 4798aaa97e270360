"""The bench: a local web app for the hours at the chassis. It does nothing that the command line can't.

`serve` starts it. A server process holds the pages, one socket for each tab, and the guard in front of them; what has
to be computed or written is asked of worker processes (`lanes`, `worker`), so that a tick is stored while a plan is
being made. `asked` holds one file for each thing that can be asked or done, `pages` one for each page.
"""
