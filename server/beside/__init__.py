"""Joining a universe beside a console: when, on what terms, and what was borrowed. No sockets or clocks."""
