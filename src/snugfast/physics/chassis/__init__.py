"""The running gear: steering from pulse to wheel, suspension, oil, differentials."""
