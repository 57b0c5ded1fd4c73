"""The output process: paces pictures of universes and sends them; and the web side's end of it."""
