"""Every write. Verb and noun, in a transaction, the clock passed in as ``now``."""
