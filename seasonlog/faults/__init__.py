"""The control circuit of a basin heater as a model that is solved healthy or with a fault. Pure."""
