"""The practice line in operation: controller, medium, token, and what is heard."""
