CREATE TABLE `health_day` (
	`unit_serial` text NOT NULL,
	`start` integer NOT NULL,
	`end` integer NOT NULL,
	`version` integer NOT NULL,
	`basis` text NOT NULL,
	`told` blob NOT NULL,
	PRIMARY KEY(`unit_serial`, `start`),
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action
);
