"""Whose turn it is and what happens next: state machines with no clock and no screen."""
