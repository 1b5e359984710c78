"""What a recorded run means: findings, figures, the command line. Never imports the engine."""
