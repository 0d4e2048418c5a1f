"""The local app: request, use case, answer."""
