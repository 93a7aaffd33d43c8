"""Layouts as one file that keeps all of them, in an open format that others read without us."""
