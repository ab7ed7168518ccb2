import "./tabs.css";
import type { ReactNode } from "react";
import { Tabs as AriaTabs, Tab, TabList, TabPanel } from "react-aria-components/Tabs";

/** Views of one thing, one at a time; arrow keys move between them. */
export function Tabs({
  label,
  tabs,
  value,
  onChange,
}: {
  label: string;
  tabs: readonly { value: string; label: ReactNode; content: ReactNode }[];
  value: string;
  onChange: (value: string) => void;
}) {
  return (
    <AriaTabs selectedKey={value} onSelectionChange={(key) => onChange(String(key))}>
      <TabList aria-label={label} className="tab-list">
        {tabs.map((tab) => (
          <Tab key={tab.value} id={tab.value} className="tab">
            {tab.label}
          </Tab>
        ))}
      </TabList>
      {tabs.map((tab) => (
        <TabPanel key={tab.value} id={tab.value} className="tab-panel">
          {tab.content}
        </TabPanel>
      ))}
    </AriaTabs>
  );
}
