"""Papers and labels as PDF: rows in, bytes out; `python -m server.paperwork.printed` is a process for it."""
