"""Station addresses: choosing them, and setting them on switches."""
