"""Scales, ticks and the view data of each figure."""
