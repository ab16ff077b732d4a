"""Messages, framing and client of the station's two local sockets."""
