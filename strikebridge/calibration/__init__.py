"""Plates to gain, zero and their uncertainty; the certificate that carries them."""
