"""Chassis geometry, the lug plan, routes of wires, and the checker that trusts none of it."""
