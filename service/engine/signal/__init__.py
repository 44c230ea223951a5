"""Signals: units, curves on the root of frequency, carriers and plans, the limits a service asks for."""
