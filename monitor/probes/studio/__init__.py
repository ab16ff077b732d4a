"""The simulated studio: one coupled physical world that the simulated probes stand in."""

from monitor.probes.studio.config import WorldConfig, world_config
from monitor.probes.studio.world import World

__all__ = ["World", "WorldConfig", "world_config"]
