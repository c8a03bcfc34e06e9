"""The demo: an invented kit of thirty tide gauges at a field centre, a dozen of them set up wrongly."""

from pathlib import Path

FOLDER = Path(__file__).parent
FLEET = "tide-gauges.toml"
FILES = (FLEET, "kit.csv", "passphrase.txt", "last-term.txt")
"""What the demo consists of; its passphrases are used nowhere."""
