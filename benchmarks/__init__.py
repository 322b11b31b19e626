"""What is measured rather than tested: accuracy, speed, memory."""
