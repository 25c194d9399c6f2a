"""python -m burnplan."""

from burnplan.cli.app import main

main()
