"""Settings as files people write: read whole and checked, written with every key explained."""
