CREATE TABLE `privacy_incident` (
	`id` text PRIMARY KEY NOT NULL,
	`question_id` text NOT NULL,
	`loan_id` text NOT NULL,
	`other_loan_id` text,
	`opened_by` text NOT NULL,
	`opened_at` integer NOT NULL,
	`outcome` text,
	`closed_by` text,
	`closed_at` integer,
	FOREIGN KEY (`question_id`) REFERENCES `identity_question`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`other_loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`opened_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`closed_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `privacy_incident_loan` ON `privacy_incident` (`loan_id`);--> statement-breakpoint
CREATE INDEX `privacy_incident_other` ON `privacy_incident` (`other_loan_id`);--> statement-breakpoint
ALTER TABLE `reattribution` ADD `offered_to` text REFERENCES loan(id);