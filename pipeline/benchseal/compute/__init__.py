"""Runs and a method to calibrations, checks, results and worked results; no input or output."""
