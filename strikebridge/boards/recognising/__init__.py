"""Work out what stands where in the lines of an unknown sketch: see `recognise`."""
