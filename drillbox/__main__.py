"""``python -m drillbox`` does what ``drillbox`` does."""

from drillbox.cli import main

main()
