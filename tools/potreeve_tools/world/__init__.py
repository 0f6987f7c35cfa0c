"""The simulated rig: weather at the sill, pots, water, probes, battery.

Everything here runs on the host only and may use floats. Amounts are ml,
depths cm or mm, times s, temperatures degC, vapour pressures kPa; the unit is
the last part of every name.
"""
