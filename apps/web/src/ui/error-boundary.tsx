import { Component, type ReactNode } from "react";
import { Button } from "./button.tsx";
import { Notice } from "./notice.tsx";

interface State {
  error: Error | null;
}

/** Catches a part that fails to draw, says so in its place, and offers to draw it again. */
export class ErrorBoundary extends Component<{ children: ReactNode }, State> {
  override state: State = { error: null };

  static getDerivedStateFromError(error: Error): State {
    return { error };
  }

  override render() {
    if (this.state.error === null) return this.props.children;
    return (
      <Notice tone="bad" title="This part could not be shown" isAnnounced>
        <p>{this.state.error.message}</p>
        <div>
          <Button onClick={() => this.setState({ error: null })}>Try again</Button>
        </div>
      </Notice>
    );
  }
}
