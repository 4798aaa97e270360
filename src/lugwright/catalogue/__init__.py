"""What is known of tube types, sockets, strips, wire, part bodies: data files with their sources."""
