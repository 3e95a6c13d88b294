"""Many commands at random, as a person might give them, on one window; what must hold is looked at after each."""
