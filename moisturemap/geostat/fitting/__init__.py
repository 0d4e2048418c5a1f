"""From readings to a covariance and what is not known of it."""
