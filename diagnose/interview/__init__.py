"""The questionnaire: asks at the terminal, goes back, skips, saves as it goes."""
