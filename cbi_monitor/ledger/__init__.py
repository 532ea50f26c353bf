"""The ledger: from effective events to vessels, visits, rows, balance, doubt and forecasts. Pure and incremental."""
