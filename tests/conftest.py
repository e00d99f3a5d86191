"""Its folder is on the path of every test, so that all of them find `wall_cases`."""
