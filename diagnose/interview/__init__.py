"""What is said and asked: hearing a caller's words, and the questionnaire."""
