"""The plate folder: the only place that knows its files, their keys and their units."""
