"""What others send on our universes: kept by source, merged, told in words. No sockets or clocks."""
