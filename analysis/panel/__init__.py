"""The panel as a measuring instrument: its assessors, its scores, its sessions, its tests."""
