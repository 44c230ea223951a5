"""Candidate trees over the ways of a building."""
