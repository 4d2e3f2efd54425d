"""Formulas as plain functions: areas, flow, pulses, wastegate, expansion, mass."""
