"""The bench in the browser: a small server on this computer alone, and one page that shows the plate."""
