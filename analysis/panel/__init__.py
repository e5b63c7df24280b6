"""Assessors and panel: how good the instrument is that the dates rest on."""
