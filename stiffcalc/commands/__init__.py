"""Commands that are more than a few lines, a module each: `add` says what it takes, `run` does it."""
