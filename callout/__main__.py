"""`python -m callout` is the command `callout`."""

from callout.cli.main import main

main(prog_name="callout")
