"""Tube equations: plain functions with exact derivatives."""
