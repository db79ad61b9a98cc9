"""Maintenance log and seasonal checklists for cooling-tower basin heaters.

Importing the package does nothing; each room is imported by the edge that needs it.
"""

__version__ = "0.1.0"
