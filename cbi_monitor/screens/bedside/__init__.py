"""The bedside chart says who saw it draining, and whether the balance is true."""
