"""A static checker of the network settings of a kit of small serial-to-Wi-Fi radio modules."""
