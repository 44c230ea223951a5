"""How signals travel through a network: levels, noise, distortion, isolation, line power, spread."""
