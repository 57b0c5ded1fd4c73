"""focuscall: a rig focus controller for every phone in the room."""

__all__ = ["__version__"]

__version__ = "0.1.0"
