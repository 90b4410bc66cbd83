"""Fill, vent and pump-time estimates for hydrostatic pressure tests with a portable pump.

A plain library: no printing, no terminal, no clock, no global state.
"""
