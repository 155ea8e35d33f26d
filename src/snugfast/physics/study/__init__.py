"""Questions put to the power train: gearing, heat over a run, fits to an owner's readings."""
