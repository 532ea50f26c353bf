"""What is spoken of everywhere: instants, volumes with doubt, events, findings, the ward's ways of measuring.

Standard library and pydantic only. No clock, no file, no database, no Qt.
"""
