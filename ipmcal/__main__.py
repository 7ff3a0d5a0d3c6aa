"""``python -m ipmcal`` is the same as ``ipmcal``."""

from ipmcal.cli import main

main()
