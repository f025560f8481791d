"""What the demonstration shows: invented finds and pictures drawn by code."""
