"""The outside world coming in: buses, drivers, the simulated studio, replay."""
