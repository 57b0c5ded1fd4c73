"""Tests of server/wire."""
