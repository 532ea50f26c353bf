"""The ward board: who needs someone, and when?"""
