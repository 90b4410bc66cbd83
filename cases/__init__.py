"""Invented demo cases and a kit, each a real-looking job that runs; opened by bare name."""
