"""Read a brewery's files as text, check them against the contract, and say every fault."""
