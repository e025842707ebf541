"""What was observed: recordings and the tones in them. Knows nothing of the model."""
