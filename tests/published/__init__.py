"""Values that others printed, measured or worked out, as data, and the one test that walks them."""
