"""``python -m aswound``."""

from aswound.cli.main import run

run()
