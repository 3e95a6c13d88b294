"""Widgets that several rooms are made of."""
