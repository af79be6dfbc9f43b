"""One job in, one answer out: the use cases behind the four doors."""
