"""How alike two places are: covariance models, variograms, distances round corners."""
