"""What to do about it: which change of a plate brings its tones to where the maker wants them."""
