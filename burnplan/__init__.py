"""Burn project planner and job tracker for pyrography artists."""

__version__ = "0.1.0"
