"""What is heard of synthetic and recorded speech, clean and in noise, with voices that no rule was made for."""
