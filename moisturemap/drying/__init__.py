"""Change between visits, forecast, equipment placement."""
