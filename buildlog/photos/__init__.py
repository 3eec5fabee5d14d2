"""Intake of photographs: check, strip, derive, store.

`check` looks at an upload without decoding it; `store` keeps the original, synced to disk; `derive` decodes
it in a capped child process and makes the three JPEG renditions that other people see; `strip` takes the
picture out of everything a camera wraps around it. Nothing is imported here, because the child process must
start without Django.
"""
