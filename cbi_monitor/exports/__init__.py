"""What leaves the ward: neutral tables first, then PDF, CSV, spreadsheet, FHIR."""
