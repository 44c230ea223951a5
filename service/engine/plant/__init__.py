"""The plant: parts and their ports, cables, the catalogue, the network, prices, and which cable may go where."""
