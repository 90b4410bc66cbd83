"""The gas test: bottles, line and vessel while raising, cooling, holding and letting off."""
