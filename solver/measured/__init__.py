"""What was observed: recordings and the tones in them, photos and the powder lines on them. Knows nothing of the model."""
