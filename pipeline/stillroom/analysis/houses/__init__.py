"""Many houses beside each other: shares, roll-outs, panels, assortments, and whose books can be trusted."""
