"""TOML scripts of the demo studio and their player, through the link."""
