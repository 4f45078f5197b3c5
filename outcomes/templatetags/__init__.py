"""Filters of the outcome pages."""
