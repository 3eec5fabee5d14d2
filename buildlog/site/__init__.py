"""What every page stands on: settings read from outside, headers, the log, throttles, health, starting up."""
