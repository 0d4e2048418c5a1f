"""From readings and a covariance to a surface with its standard deviation."""
