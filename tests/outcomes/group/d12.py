"""Twelve constructed patients, AKPS: the test set of the project's statistics.

Its results were computed with numpy, scipy and statsmodels, by hand of this project.
"""

BASELINE = [62, 55, 70, 48, 66, 59, 73, 51, 64, 57, 68, 60]
FOLLOW_UP = [78, 63, 84, 60, 65, 77, 85, 50, 80, 72, 75, 79]
GAIN = [16, 8, 14, 12, -1, 18, 12, -1, 16, 15, 7, 19]
MONTHS = [6, 24, 3, 36, 12, 8, 4, 48, 10, 18, 60, 9]
