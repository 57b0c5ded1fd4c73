"""Sockets and the network around them: interfaces, nodes, sources."""
