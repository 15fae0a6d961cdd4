"""Rules for fuel systems: small cited declarations, dated numbers, one engine."""
