"""The separation sheet for people: terminal, HTML on two sides of paper, and the picture of the head temperature."""
