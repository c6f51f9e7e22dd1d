"""Run the command line as ``python -m verifier.cli``."""

from verifier.cli import main

main()
