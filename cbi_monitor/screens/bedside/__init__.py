"""The bedside chart: who saw it draining, and is the balance true?"""
