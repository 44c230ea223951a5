"""The plant: parts and ports, cables, the catalogue, the network, prices, and which cable may go where."""
