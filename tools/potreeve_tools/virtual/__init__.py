"""A board without hardware: real MicroPython behind a serial port, the simulated rig as its pins."""
