"""Simulated I2C and SPI buses that speak the sensors' bytes, so that the real drivers run over them."""
