"""From a raw job to one prepared job that every use case takes."""
