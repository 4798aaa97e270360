"""Drawings as SVG and DXF."""
