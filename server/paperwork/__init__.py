"""Files in and out: profiles, the rig as a table, fixture files of the open standard."""

__all__: list[str] = []
