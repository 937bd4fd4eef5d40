"""Checks of a calibrated board before a session: zero, noise, gain; and what came before."""
