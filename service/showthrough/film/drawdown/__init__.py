"""A paint measured from one film over a black and white card."""
