"""Ways to be told: lamp and sounder at once, messages and MQTT after the commit. None delays another."""
