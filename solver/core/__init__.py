"""What everything stands on: errors, arrays, units, files written whole, work in parallel, reading in a bounded process."""
