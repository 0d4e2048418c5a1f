"""The use cases, one a file; each reads like the sentence of the job."""
