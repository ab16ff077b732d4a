"""The web page: shows the station and asks it."""
