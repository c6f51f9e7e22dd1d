"""Logs of testers, chargers, loggers and BMS apps: what was delivered, how, and what that proves."""
