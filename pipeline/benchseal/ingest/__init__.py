"""Bytes and a reading layout to run documents: text as read, with line and column."""
