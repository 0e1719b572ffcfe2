"""Tests that share one real browser: it is closed before any other test runs."""
