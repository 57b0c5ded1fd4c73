"""Tests of server/net."""
