"""What leaves the practice: a summary for one vet practice, of horses whose owners consent, and nothing else."""
