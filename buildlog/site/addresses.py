"""Addresses that leave the program: printed by a command, or shown as a QR code."""

import sys

import segno
from django.urls import reverse


def one_time_address(base: str, token: str) -> str:
    return base + reverse("one-time-link", args=[token])


def print_code(address: str) -> None:
    """Show an address as a QR code on a terminal; nothing where the output goes elsewhere."""
    if sys.stdout.isatty():
        segno.make(address, error="l").terminal(compact=True)
