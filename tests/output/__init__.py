"""Tests of server/output."""
