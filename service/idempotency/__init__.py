"""The Idempotency-Key header: a request that is sent again is not done again."""
