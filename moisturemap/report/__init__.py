"""Study and figures to documents."""
