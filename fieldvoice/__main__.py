"""Run the command line as ``python -m fieldvoice``."""

from fieldvoice.cli.main import run

run()
