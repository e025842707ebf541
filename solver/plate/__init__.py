"""What the object is - its wood, its bar, and the plate that joins them to the geometry."""
