"""The services between a controller and a station: what their octets say, and how they are put together."""
