"""Packets as values: sans-I/O codecs, bytes in and values out. No sockets, clocks or globals."""
